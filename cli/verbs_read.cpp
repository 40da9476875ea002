#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "cli/photos/batch.h"
#include "cli/photos/words.h"
#include "cli/session.h"
#include "cli/verbs.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

struct ReadVerbOptions {
  std::vector<std::string> images;
  bool any = false;
  bool plain = false;
};

/// The book is a help, not a need: without one, codes are read and not named.
std::optional<Reader> reader_if_any(Session& session) {
  try {
    return session.reader();
  } catch (const Error& error) {
    if (error.fault() == Fault::no_book) return std::nullopt;
    throw;
  }
}

struct Point {
  int x = 0;
  int y = 0;
};

Point centre(const labels::Corners& corners) {
  double x = 0;
  double y = 0;
  for (const auto& corner : corners) {
    x += corner.x;
    y += corner.y;
  }
  return {static_cast<int>(x / 4), static_cast<int>(y / 4)};
}

std::string name_of(std::optional<Reader>& reader, const CodeReading& reading) {
  if (!reading.code) return "";
  if (!reader) return std::string(word_of(reading.code->kind()));
  const auto thing = reader->thing_of(reading.code->text());
  if (!thing) return "not in this book";
  const Named named = reader->named(*thing);
  return (named.kind.empty() ? "not registered" : named.kind) + " " + named.label;
}

std::string short_name_of(std::optional<Reader>& reader, const Code& code) {
  const auto thing = reader ? reader->thing_of(code.text()) : std::nullopt;
  return thing ? reader->label(*thing) : code.spaced();
}

Json symbol_json(std::optional<Reader>& reader, const labels::ReadSymbol& symbol) {
  Json corners = Json::array();
  for (const auto& corner : symbol.corners) corners.push_back({static_cast<int>(corner.x), static_cast<int>(corner.y)});
  Json one = {{"text", symbol.text}, {"corners", corners}, {"names", name_of(reader, symbol.reading)}};
  if (symbol.reading.code) one["code"] = symbol.reading.code->str();
  return one;
}

Json unread_json(const labels::PictureReading& reading) {
  Json all = Json::array();
  for (const auto& spot : reading.unread) {
    const Point at = centre(spot.corners);
    all.push_back({{"at", {at.x, at.y}}, {"why", advice_for(spot.why)}});
  }
  return all;
}

bool print_reading(Session& session, std::optional<Reader>& reader, const std::string& path,
                   const labels::PictureReading& reading, const ReadVerbOptions& options) {
  const Terminal& out = session.terminal;
  if (options.plain) {
    for (const auto& symbol : reading.symbols)
      out.line(options.any || !symbol.reading.code ? symbol.text : symbol.reading.code->str());
    return !reading.symbols.empty();
  }
  if (session.json) {
    Json symbols = Json::array();
    for (const auto& symbol : reading.symbols) symbols.push_back(symbol_json(reader, symbol));
    out.line(Json{{"file", path},
                  {"width", reading.width},
                  {"height", reading.height},
                  {"symbols", symbols},
                  {"foreign", reading.foreign},
                  {"unread", unread_json(reading)}}
                 .dump(-1, ' ', false, Json::error_handler_t::replace));
    return !reading.symbols.empty();
  }
  out.line(out.strong(path) + out.faint(fmt::format("  {} × {}", reading.width, reading.height)));
  std::vector<std::vector<std::string>> rows;
  for (const auto& symbol : reading.symbols) {
    const Point at = centre(symbol.corners);
    rows.push_back({"  " + (symbol.reading.code ? symbol.reading.code->spaced() : symbol.text),
                    out.name(name_of(reader, symbol.reading)), out.faint(fmt::format("at {}, {}", at.x, at.y))});
  }
  out.table(rows);
  const auto label_of = [&](const Code& code) { return short_name_of(reader, code); };
  for (const std::string& line : unread_lines(reading, label_of)) out.warn("not read: " + line);
  if (reading.foreign > 0)
    out.line(
        out.faint(fmt::format("  and {} foreign symbol{}, ignored", reading.foreign, reading.foreign == 1 ? "" : "s")));
  if (rows.empty() && reading.unread.empty())
    out.warn("no code found: come closer, avoid glare, hold the camera straight");
  return !rows.empty();
}

/// What went wrong in a batch, for its exit status.
struct Failures {
  std::size_t empty = 0;
  std::size_t refused = 0;
  std::optional<Error> last;

  void note(Fault fault, const std::string& message) {
    ++(fault == Fault::nothing_read ? empty : refused);
    last.emplace(fault, message);
  }
  void raise(std::size_t pictures) const {
    if (!last) return;
    if (pictures == 1) throw Error(*last);
    const Fault fault = refused > 0 ? Fault::unreadable_image : Fault::nothing_read;
    std::string text = fmt::format("Of {} pictures {} ", pictures, empty + refused);
    text += refused == 0 ? "gave no code" : empty == 0 ? "could not be read" : "gave nothing";
    throw Error(fault, text + "; what the others gave is told.");
  }
};

void read_images(Session& session, const ReadVerbOptions& options) {
  std::optional<Reader> reader = reader_if_any(session);
  const std::vector<std::string> paths = pictures_of(options.images);
  const bool alone = paths.size() == 1;
  Failures failures;
  const auto take = [&](std::size_t number, const PictureOutcome& outcome) {
    session.terminal.end_progress();
    if (outcome.reading) {
      if (print_reading(session, reader, paths[number], *outcome.reading, options)) return;
      return failures.note(Fault::nothing_read, "No code was found in " + paths[number] + ".");
    }
    failures.note(outcome.fault, outcome.message);
    if (!alone) session.terminal.problem(outcome.message);
  };
  const auto progress = [&](std::size_t done) {
    if (!alone) session.terminal.progress("reading pictures", done, paths.size());
  };
  read_batch(paths, options.any ? labels::ReadScope::any : labels::ReadScope::codes, take, progress);
  session.terminal.end_progress();
  failures.raise(paths.size());
}

}  // namespace

void add_read_verb(CLI::App& app, Session& session) {
  auto reading = std::make_shared<ReadVerbOptions>();
  auto* read = app.add_subcommand("read", "Read the codes in pictures: which, where, and what they name");
  read->add_option("images", reading->images, "JPEG or PNG files, or folders of them")->required();
  read->add_flag("--any", reading->any, "Foreign QR symbols too");
  read->add_flag("--plain", reading->plain, "Only the texts, one a line");
  read->footer(
      "Every core reads; a picture that is damaged, or made to do harm, is told and harms no other. A label that was\n"
      "seen and not read is told with its place, and what would help. Foreign symbols are counted and ignored.");
  read->callback([&session, reading] { read_images(session, *reading); });

  auto* worker = app.add_subcommand(kWorkerVerb, "");
  worker->group("");  // this program starts itself so, to keep pictures of strangers in a process of their own
  worker->callback([] { run_picture_worker(); });
}

}  // namespace rackside::cli
