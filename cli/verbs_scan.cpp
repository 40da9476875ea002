#include <CLI/CLI.hpp>
#include <algorithm>

#include "cli/scan/desk.h"
#include "cli/scan/input.h"
#include "cli/scan/photos.h"
#include "cli/scan/screen.h"
#include "cli/scan/video.h"
#include "cli/session.h"
#include "cli/verbs.h"
#include "core/entry/entry.h"

namespace rackside::cli {
namespace {

using namespace core;

struct ScanOptions {
  std::string by, at, entry;
  std::vector<std::string> images;
  std::string video;
  double per_second = 6;
  int guard_seconds = 10;
};

/// Lines that could not be understood: reported as they come, and once more as the exit status.
class Misread {
 public:
  void note(const LineOutcome& outcome, std::size_t line) {
    if (outcome.what != LineOutcome::What::not_understood) return;
    lines_ += (lines_.empty() ? "" : ", ") + std::to_string(line);
    ++count_;
    worst_ = count_ == 1 ? outcome.fault : std::min(worst_, outcome.fault, by_urgency);
  }
  std::size_t count() const { return count_; }
  void raise(const char* unit) const {
    if (count_ == 0) return;
    throw Error(worst_, std::to_string(count_) + " not understood (" + unit + " " + lines_ +
                            "); everything else was saved. Scan or type " + (count_ == 1 ? "it" : "them") + " again.");
  }

 private:
  /// A mistyped code is told before an unknown one, and both before a misspelt entry.
  static bool by_urgency(Fault a, Fault b) { return rank(a) < rank(b); }
  static int rank(Fault fault) { return fault == Fault::bad_code ? 0 : fault == Fault::unknown_code ? 1 : 2; }

  std::string lines_;
  std::size_t count_ = 0;
  Fault worst_ = Fault::usage;
};

Screen::Form form_of(const Session& session) {
  if (session.json) return Screen::Form::json;
  return session.terminal.out_is_terminal() ? Screen::Form::large : Screen::Form::plain;
}

Desk::Options desk_options(Session& session, const ScanOptions& options) {
  Desk::Options out;
  const bool somebody_answers = session.terminal.in_is_terminal() && !session.json && options.images.empty();
  out.asking = somebody_answers ? Desk::Asking::yes : Desk::Asking::no;
  out.guard_ms = Instant{options.guard_seconds} * 1000;
  if (!options.by.empty()) out.by = session.find(options.by, {"helper"}).code;
  if (!options.at.empty()) out.said = session.parse_at(options.at);
  return out;
}

void scan_lines(Session& session, const ScanOptions& options) {
  Desk desk(session, desk_options(session, options));
  Screen screen(session.terminal, form_of(session));
  Misread misread;
  std::size_t number = 0;
  const auto show = [&](const std::vector<LineOutcome>& outcomes) {
    for (const LineOutcome& outcome : outcomes) {
      screen.show(outcome, number, desk);
      misread.note(outcome, number);
    }
  };
  screen.begin(options.by);
  if (!options.entry.empty()) show(desk.take(options.entry));
  ScanInput input(0);
  while (const auto line = input.next()) {
    ++number;
    show(desk.take(*line));
  }
  show(desk.finish());
  screen.end(desk, misread.count());
  if (!session.terminal.in_is_terminal()) misread.raise("line");
}

void scan_photos(Session& session, const ScanOptions& options, const PhotoScan& photos) {
  Desk desk(session, desk_options(session, options));
  Screen screen(session.terminal, form_of(session));
  Misread misread;
  std::size_t number = 0;
  if (!options.entry.empty()) {
    const auto outcome = desk.take(options.entry).front();
    if (outcome.what == LineOutcome::What::not_understood) throw Error(outcome.fault, outcome.message + ".");
  }
  for (const std::string& code : photos.codes) {
    for (const LineOutcome& outcome : desk.take(code)) {
      screen.show(outcome, ++number, desk);
      misread.note(outcome, number);
    }
  }
  for (const std::string& problem : photos.problems) session.terminal.problem(problem);
  if (!options.entry.empty()) screen.end(desk, misread.count());
  misread.raise("code");
  if (photos.failure)
    throw Error(*photos.failure, std::to_string(photos.problems.size()) + " of " + std::to_string(photos.pictures) +
                                     " pictures gave nothing; what was read in the others was handled.");
  if (options.entry.empty())
    throw Error(
        Fault::usage,
        "These are who is in the pictures; nothing was recorded. Say what was seen: --entry \"fed small-rat\".");
}

/// Without an entry a film is a stock-take; with one, every code in it gets the entry.
void scan_video(Session& session, const ScanOptions& options) {
  const Walk walk = walk_along(session, options.video, options.per_second);
  if (options.entry.empty()) return tell_stock(session, walk);
  PhotoScan scan;
  for (const Walk::Seen& seen : walk.seen()) scan.codes.push_back(seen.code);
  let_cards_beat_places(session, scan.codes);
  scan_photos(session, options, scan);
}

void scan(Session& session, const ScanOptions& options) {
  session.book();
  if (!options.video.empty()) {
    scan_video(session, options);
  } else if (!options.images.empty()) {
    scan_photos(session, options, read_photos(session, options.images));
  } else {
    scan_lines(session, options);
  }
}

std::string entries_help() {
  std::string out = "Entries (free words behind --; a last word again, same or replaces answers an earlier account):\n";
  for (const EntryForm& form : entry_forms()) {
    std::string left = "  " + std::string(form.form);
    if (left.size() < 36) left.resize(36, ' ');
    out += left + std::string(form.help) + "\n";
  }
  return out +
         "  undo, done, rest-ate RACK           take back the last entry; end a round; close a rack's open offers\n";
}

}  // namespace

void add_scan_verb(CLI::App& app, Session& session) {
  auto options = std::make_shared<ScanOptions>();
  auto* verb = app.add_subcommand("scan", "Record with a handheld scanner or the keyboard: a code, then what was seen");
  verb->add_option("--by", options->by, "The helper who scans");
  verb->add_option("--at", options->at, "When it was seen, for notes entered later: \"yesterday 19:30\"");
  verb->add_option("--entry", options->entry, "Begin a round with this entry: every code gets it");
  verb->add_option("--guard", options->guard_seconds, "Seconds in which the same label and entry count once")
      ->check(CLI::Range(0, 3600));
  verb->add_option("--images", options->images, "Read these photos, or folders of them, instead of lines")
      ->expected(1, 10000);
  verb->add_option(
          "--video", options->video,
          "Read this film of a walk along the racks, or a camera (/dev/video0): who is where, compared with the "
          "book; with --entry every code gets it. Needs the program ffmpeg")
      ->excludes("--images");
  verb->add_option("--pictures-a-second", options->per_second, "Of the film that are read")
      ->check(CLI::Range(0.2, 60.0));
  verb->footer(entries_help());
  verb->callback([&session, options] { scan(session, *options); });
}

}  // namespace rackside::cli
