#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <nlohmann/json.hpp>

#include "cli/scan/desk.h"
#include "cli/session.h"
#include "cli/verbs.h"
#include "cli/wording.h"
#include "core/entry/corrections.h"
#include "core/entry/entry.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

struct LogOptions {
  std::string entry;
  std::vector<std::string> codes;
  std::string at, by, note;
  bool again = false;
  bool same = false;
  bool replaces = false;
};

/// The entry as one line of `scan`: its words, how it answers an earlier account, the note behind "--".
std::string entry_line(LogOptions& options) {
  std::string line = options.entry;
  const EntryForm* form = entry_form(std::string_view(line).substr(0, line.find(' ')));
  // `log paired C-20 C-08`: the last code is the entry's own object.
  const bool names_another = form && (form->kind == Kind::paired || form->kind == Kind::moved);
  if (names_another && line.find(' ') == std::string::npos && options.codes.size() == 2) {
    line += " " + options.codes.back();
    options.codes.pop_back();
  }
  if (options.again) line += " again";
  if (options.same) line += " same";
  if (options.replaces) line += " replaces";
  if (!options.note.empty()) line += " -- " + mend_text(options.note);
  return line;
}

Json outcome_json(const LineOutcome& outcome) {
  Json one = {{"what", word_of(outcome.what)},
              {"message", outcome.message},
              {"warnings", outcome.warnings},
              {"notices", outcome.notices}};
  for (const Named& named : outcome.about) one["about"].push_back({{"code", named.code}, {"label", named.label}});
  if (outcome.event) {
    one["event"] = to_text(*outcome.event);
    one["id"] = to_hex(outcome.event->hash).substr(0, 8);
  }
  return one;
}

void tell(Session& session, const LineOutcome& outcome) {
  if (outcome.what == LineOutcome::What::not_understood) throw Error(outcome.fault, outcome.message);
  if (outcome.what == LineOutcome::What::shown || outcome.what == LineOutcome::What::set) return;
  if (session.json) return session.terminal.line(outcome_json(outcome).dump());
  if (outcome.what == LineOutcome::What::recorded) {
    session.terminal.good(outcome.message);
  } else {
    session.terminal.line(outcome.message);
  }
  for (const std::string& warning : outcome.warnings) session.terminal.warn(warning);
  for (const std::string& notice : outcome.notices) session.terminal.line("  " + notice);
}

void log_entry(Session& session, LogOptions options) {
  const std::string line = entry_line(options);
  const EntryReading reading = parse_entry(line);
  if (!reading.entry) throw Error(Fault::usage, reading.problem);
  // All codes are looked up before anything is written: a typo in the last must not leave the first recorded.
  for (const std::string& code : options.codes) session.find(code);
  Desk::Options desk_options;
  if (!options.by.empty()) desk_options.by = session.find(options.by, {"helper"}).code;
  if (!options.at.empty()) desk_options.said = session.parse_at(options.at);
  desk_options.guard_ms = 0;
  Desk desk(session, desk_options);
  for (const std::string& code : options.codes) {
    for (const std::string& text : {code, line}) {
      for (const LineOutcome& outcome : desk.take(text)) tell(session, outcome);
    }
  }
  for (const LineOutcome& outcome : desk.finish()) tell(session, outcome);
}

/// An entry by the id that `history` shows, or the newest one of a thing.
StoryLine entry_named(Session& session, Reader& reader, const std::string& text) {
  const bool hex = text.size() >= 4 && text.find_first_not_of("0123456789abcdef") == std::string::npos;
  if (hex) {
    const auto found = events_beginning(reader, text);
    if (found.size() == 1) return reader.line(found.front());
    if (found.size() > 1)
      throw Error(Fault::ambiguous, "Several entries begin with " + text +
                                        ": give more of its digits, as `rackside history` shows them.");
  }
  const Named thing = session.find(text);
  const auto newest = newest_entry_of(reader, thing.thing);
  if (!newest) throw Error(Fault::unknown_code, "Nothing that could be withdrawn was recorded of " + thing.label + ".");
  return *newest;
}

struct JudgeOptions {
  std::string what, by, note;
};

void judge_entry(Session& session, const JudgeOptions& options, Kind kind) {
  Reader reader = session.reader();
  const StoryLine line = entry_named(session, reader, options.what);
  Draft draft = kind == Kind::voided ? withdrawal_of(line) : restoration_of(reader, line);
  if (!options.by.empty()) draft.by = session.find(options.by, {"helper"}).code;
  if (!options.note.empty()) draft.text = write_compact(Value::Object{{"note", mend_text(options.note)}});
  const EventRef ref = session.record({draft}).front();
  Reader after = session.reader();
  const StoryLine now = after.line(line.ref);
  const std::string what = sentence_of(after, now) + ", " + session.when(now.at);
  if (session.json) {
    return session.terminal.line(Json{
        {"event", to_text(ref)},
        {"of", to_text(line.ref)},
        {"withdrawn", now.gone},
        {"disputed", now.disputed}}.dump());
  }
  if (now.disputed) {
    session.terminal.warn("Another's entry of that weight stands until a person agrees: “" + what +
                          "” is a question now (`rackside questions`).");
  } else if (kind == Kind::voided) {
    session.terminal.good("Withdrawn: " + what + ". It stays in the history; `rackside restore " +
                          to_hex(line.ref.hash).substr(0, 8) + "` brings it back.");
  } else {
    session.terminal.good("It stands again: " + what + ".");
  }
}

void rest_of_rack(Session& session, const std::string& rack_text, const std::string& by) {
  const Named rack = session.find(rack_text, {"rack"});
  Reader reader = session.reader();
  RestAte rest = rest_ate(reader, rack, session.now());
  Json animals = Json::array();
  std::string names;
  for (const Named& animal : rest.animals) {
    animals.push_back(animal.label);
    names += (names.empty() ? "" : ", ") + animal.label;
  }
  if (rest.draft) {
    if (!by.empty()) rest.draft->by = session.find(by, {"helper"}).code;
    session.record({*rest.draft});
  }
  if (session.json) return session.terminal.line(Json{{"rack", rack.label}, {"ate", animals}}.dump());
  if (!rest.draft) return session.terminal.line("No offer is open in rack " + rack.label + ": nothing to close.");
  session.terminal.good(fmt::format("The rest of rack {} ate: {} ({}).", rack.label, rest.animals.size(), names));
}

std::string forms_help() {
  std::string text = "What was seen, as typed into `scan`:\n";
  for (const EntryForm& form : entry_forms()) text += fmt::format("  {:34} {}\n", form.form, form.help);
  return text;
}

}  // namespace

void add_entry_verbs(CLI::App& app, Session& session) {
  auto options = std::make_shared<LogOptions>();
  auto* log = app.add_subcommand(
      "log", "Record one event by hand: `log fed C-14`, `log \"weighed 412\" C-14`, `log paired C-20 C-8`");
  log->footer(forms_help());
  log->add_option("entry", options->entry, "What was seen; quote several words")->required();
  log->add_option("codes", options->codes, "Animals or places: codes or short IDs")->required();
  log->add_option("--at", options->at, "When: 19:30, \"yesterday 19:30\", 2026-11-24, 2h ago");
  log->add_option("--by", options->by, "The helper who saw it");
  log->add_option("--note", options->note, "Free text (sealed: it can be erased later)");
  log->add_flag("--again", options->again, "A further one: a second serving, more eggs");
  log->add_flag("--same", options->same, "A second account of the very same");
  log->add_flag("--replaces", options->replaces, "A correction of the earlier account");
  log->callback([&session, options] { log_entry(session, *options); });

  const auto add_judge = [&](const char* name, const char* help, Kind kind) {
    auto judge = std::make_shared<JudgeOptions>();
    auto* verb = app.add_subcommand(name, help);
    verb->add_option("what", judge->what, "An entry's id as `history` shows it, or a code: its newest entry")
        ->required();
    verb->add_option("--by", judge->by, "Who says so");
    verb->add_option("--note", judge->note, "Why");
    verb->callback([&session, judge, kind] { judge_entry(session, *judge, kind); });
  };
  add_judge("void", "Withdraw an entry; nothing is deleted", Kind::voided);
  add_judge("restore", "Bring a withdrawn entry back", Kind::restored);

  auto rack = std::make_shared<std::string>();
  auto by = std::make_shared<std::string>();
  auto* rest = app.add_subcommand("rest-ate", "Close all open offers of a rack at once: the rest ate");
  rest->add_option("rack", *rack, "Code or short ID of the rack")->required();
  rest->add_option("--by", *by, "The helper who looked");
  rest->callback([&session, rack, by] { rest_of_rack(session, *rack, *by); });
}

}  // namespace rackside::cli
