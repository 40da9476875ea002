#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "cli/backup.h"
#include "cli/scan/card.h"
#include "cli/scan/finder.h"
#include "cli/session.h"
#include "cli/verbs.h"
#include "cli/wording.h"
#include "core/entry/compose.h"
#include "core/entry/corrections.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

std::string event_id(const EventRef& ref) {
  return to_hex(ref.hash).substr(0, 8);
}

// ---- log

struct LogOptions {
  std::vector<std::string> words;
  std::string at, by, note;
  bool again = false, same = false, replaces = false;
};

/// `log`'s words: what was seen, then whom it is of, then further words of the entry.
struct Parts {
  std::vector<Found> things;
  std::vector<std::string> typed;  ///< the things as typed
  Entry entry;
};

bool is_number(const std::string& word) {
  return word.find_first_not_of("0123456789.,") == std::string::npos;
}

std::string joined_from(const std::vector<std::string>& words, std::size_t from) {
  std::string out;
  for (std::size_t i = from; i < words.size(); ++i) out += " " + words[i];
  return out;
}

/// Ten letters can be a mistyped code or a remedy's name. Of a meal they are a code, for a prey must never come of one.
bool is_word_of_entry(const std::vector<std::string>& words, std::size_t at) {
  if (words[at].find_first_of("0123456789") != std::string::npos) return false;
  const EntryReading reading = parse_entry(words[0] + joined_from(words, at));
  return reading.entry && reading.entry->own.find("items") == nullptr;
}

/// A thing that is named by this word; nothing when the word is rather one of the entry's own. A mistyped code or short
/// ID among them is not taken for prey: entries refuse words with digits.
std::optional<Found> thing_named(Session& session, Reader& reader, const std::vector<std::string>& words,
                                 std::size_t at) {
  try {
    return find_scanned(session, reader, words[at]);
  } catch (const Error& error) {
    const bool mistyped = error.fault() == Fault::bad_code && !is_word_of_entry(words, at);
    if (mistyped || (error.fault() != Fault::unknown_code && error.fault() != Fault::bad_code)) throw;
    return std::nullopt;
  }
}

/// The entry of the words from `from` on; where it lacks something, the last thing is given to it: `log paired A B`.
Entry entry_of(Parts& parts, const std::vector<std::string>& words, std::size_t from) {
  EntryReading reading = parse_entry(words[0] + joined_from(words, from));
  if (reading.entry) return *reading.entry;
  const std::string problem = reading.problem;
  if (from == words.size() && parts.things.size() > 1) {
    reading = parse_entry(words[0] + " " + parts.typed.back());
    if (reading.entry) {
      parts.things.pop_back();
      parts.typed.pop_back();
      return *reading.entry;
    }
  }
  throw Error(Fault::usage, problem + ".");
}

Parts take_apart(Session& session, Reader& reader, const std::vector<std::string>& words) {
  if (!begins_entry(words[0])) throw Error(Fault::usage, parse_entry(words[0]).problem + ".");
  if (words.size() < 2)
    throw Error(Fault::usage, fmt::format("Of whom? Write `rackside log {} CODE`: a code or short ID.", words[0]));
  Parts parts;
  std::size_t next = 1;
  for (; next < words.size() && (next == 1 || !is_number(words[next])); ++next) {
    const auto thing =
        next == 1 ? find_scanned(session, reader, words[next]) : thing_named(session, reader, words, next);
    if (!thing) break;
    if (!has_scene(*thing)) {
      throw Error(Fault::usage, fmt::format("{} is a {}: an entry is of an animal or a place.", thing->named.label,
                                            thing->named.kind));
    }
    parts.things.push_back(*thing);
    parts.typed.push_back(words[next]);
  }
  parts.entry = entry_of(parts, words, next);
  return parts;
}

std::optional<Relation> relation_of(const LogOptions& options) {
  if (options.again + options.same + options.replaces > 1)
    throw Error(Fault::usage, "Only one of --again, --same and --replaces can be meant.");
  if (options.again) return Relation::again;
  if (options.same) return Relation::same;
  if (options.replaces) return Relation::replaces;
  return std::nullopt;
}

std::string said_of(Session& session, Reader& reader, const Found& found, const Composition& made,
                    const StoryLine& line) {
  const bool tells_itself = made.draft.kind == Kind::paired || made.draft.kind == Kind::moved;
  const std::string what = tells_itself ? sentence_of(reader, line) : event_text(made.draft.kind, made.draft.own);
  const bool whose_is_open = made.ask.about == Ask::About::animal;
  std::string who =
      made.about.empty() ? found.named.label : joined_labels(made.about, whose_is_open ? " or " : " and ");
  if (made.draft.kind == Kind::paired) who.clear();
  return who + (who.empty() ? "" : " ") + what + ", " + session.when(line.at);
}

void tell(Session& session, const Found& found, const Composition& made, const EventRef& ref) {
  Reader reader = session.reader();
  const std::string message = said_of(session, reader, found, made, reader.line(ref));
  if (session.json) {
    Json about = Json::array();
    for (const Named& thing : made.about) about.push_back({{"code", thing.code}, {"label", thing.label}});
    return session.terminal.line(Json{
        {"what", "recorded"},
        {"message", message},
        {"about", about},
        {"event", to_text(ref)},
        {"id", event_id(ref)},
        {"warnings", made.warnings},
        {"notices", made.notices}}.dump());
  }
  session.terminal.good(message + "  " + session.terminal.faint(event_id(ref)));
  for (const std::string& warning : made.warnings) session.terminal.warn(warning + ".");
  for (const std::string& notice : made.notices) session.terminal.line("  " + notice + ".");
}

Composition compose_one(Session& session, Reader& reader, const Found& found, const Entry& entry, Instant at) {
  std::optional<Scene> target;
  if (!entry.target.empty()) target = scene_of(reader, find_scanned(session, reader, entry.target), at);
  Composition made = compose(scene_of(reader, found, at), entry, {}, target ? &*target : nullptr);
  if (made.ask.needed) throw Error(Fault::ambiguous, made.ask.text + " Name the animal instead of the place.");
  if (made.ask.about != Ask::About::nothing) made.notices.push_back(unanswered(made.ask));
  if (!found.notice.empty()) made.notices.push_back(found.notice);
  return made;
}

/// All of them or none: everything is looked up and composed before anything is written, in one transaction.
void log_events(Session& session, const LogOptions& options) {
  Reader reader = session.reader();
  Parts parts = take_apart(session, reader, options.words);
  if (const auto relation = relation_of(options)) parts.entry.relation = relation;
  if (!options.note.empty()) parts.entry.note = options.note;
  std::optional<SaidTime> said;
  if (!options.at.empty()) said = session.parse_at(options.at);
  const std::string by = options.by.empty() ? "" : session.find(options.by, {"helper"}).code;
  const Instant at = seen_at(session, reader, said);
  std::vector<Composition> all;
  std::vector<Draft> drafts;
  for (const Found& found : parts.things) {
    all.push_back(compose_one(session, reader, found, parts.entry, at));
    all.back().draft.by = by;
    all.back().draft.said = said;
    drafts.push_back(all.back().draft);
  }
  const std::vector<EventRef> refs = session.record(std::move(drafts));
  for (std::size_t i = 0; i < all.size(); ++i) tell(session, parts.things[i], all[i], refs[i]);
}

// ---- void, restore

struct JudgeOptions {
  std::string what, by, note;
};

constexpr int kStoryRead = 200;

bool names_a_thing(Reader& reader, const std::string& text) {
  const CodeReading code = read_code(text);
  return (code.code && reader.thing_of(code.code->text())) || !reader.with_short_id(text).empty();
}

/// The event that a person means: its id as `history` shows it, a whole reference, or a thing whose newest entry that
/// stands (for `void`) or does not (for `restore`) it is.
StoryLine event_meant(Session& session, Reader& reader, const std::string& text, Kind judgement) {
  if (const auto ref = ref_from_text(text)) return reader.line(*ref);
  const auto refs = names_a_thing(reader, text) ? std::vector<EventRef>{} : events_beginning(reader, text);
  if (refs.size() == 1) return reader.line(refs.front());
  if (refs.size() > 1) {
    std::string ids;
    for (const EventRef& ref : refs) ids += (ids.empty() ? "" : ", ") + to_hex(ref.hash).substr(0, 12);
    throw Error(Fault::ambiguous, fmt::format("Several entries begin with {}: {}. Write more digits.", text, ids));
  }
  const Named thing = session.find(text);
  for (const StoryLine& line : reader.story(thing.thing, kStoryRead)) {
    const bool withdrawn = line.gone || line.disputed;
    if ((is_entry(line.kind) || line.kind == Kind::says) && withdrawn == (judgement == Kind::restored)) return line;
  }
  throw Error(Fault::unknown_code,
              fmt::format("No entry of {} {}. `rackside history {}` shows all.", thing.label,
                          judgement == Kind::voided ? "stands that could be withdrawn" : "is withdrawn", thing.label));
}

std::string described(Session& session, Reader& reader, const StoryLine& line) {
  std::string whose;
  std::vector<std::string> codes = line.event->of;
  if (codes.empty() && !line.event->place.empty()) codes.push_back(line.event->place);
  for (const std::string& code : codes) {
    const auto thing = reader.thing_of(code);
    whose += (whose.empty() ? "" : " and ") + (thing ? reader.label(*thing) : code);
  }
  if (line.kind == Kind::paired) whose.clear();
  return whose + (whose.empty() ? "" : " ") + sentence_of(reader, line) + ", " + session.when(line.at) +
         (line.by.empty() ? "" : ", " + line.by);
}

void tell_judged(Session& session, Kind judgement, const EventRef& ref, const EventRef& of) {
  Reader reader = session.reader();
  const StoryLine now = reader.line(of);
  if (session.json) {
    return session.terminal.line(
        Json{{"event", to_text(ref)}, {"of", to_text(of)}, {"withdrawn", now.gone}, {"disputed", now.disputed}}.dump());
  }
  const std::string what = described(session, reader, now);
  if (judgement == Kind::restored) {
    session.terminal.good("It stands again: " + what + ".");
  } else if (now.disputed) {
    session.terminal.warn(
        "Another's treatment, eggs, hatching, death or sale stands until somebody agrees that it never was: “" + what +
        "” is a question now (`rackside questions`).");
  } else {
    session.terminal.good("Withdrawn: " + what + ". It stays in the history; `rackside restore " + event_id(of) +
                          "` brings it back.");
  }
}

void judge_entry(Session& session, const JudgeOptions& options, Kind judgement) {
  Reader reader = session.reader();
  const StoryLine line = event_meant(session, reader, options.what, judgement);
  Draft draft = judgement == Kind::voided ? withdrawal_of(line) : restoration_of(reader, line);
  if (!options.by.empty()) draft.by = session.find(options.by, {"helper"}).code;
  if (!options.note.empty()) draft.text = write_compact(Value::Object{{"note", mend_text(options.note)}});
  const EventRef ref = session.record({std::move(draft)}).front();
  tell_judged(session, judgement, ref, line.ref);
}

// ---- rest-ate

struct RestOptions {
  std::string rack, by, at;
};

void rest_of_rack(Session& session, const RestOptions& options) {
  const Named rack = session.find(options.rack, {"rack"});
  Reader reader = session.reader();
  RestAte rest = rest_ate(reader, rack, session.now());
  if (rest.draft) {
    if (!options.by.empty()) rest.draft->by = session.find(options.by, {"helper"}).code;
    if (!options.at.empty()) rest.draft->said = session.parse_at(options.at);
    session.record({*rest.draft});
  }
  if (session.json) {
    Json animals = Json::array();
    for (const Named& animal : rest.animals) animals.push_back(animal.label);
    return session.terminal.line(Json{{"rack", rack.label}, {"ate", animals}}.dump());
  }
  if (!rest.draft) return session.terminal.line("No offer is open in rack " + rack.label + ": nothing to close.");
  session.terminal.good(fmt::format("The rest of rack {} ate: {} ({}).", rack.label, rest.animals.size(),
                                    joined_labels(rest.animals, ", ")));
}

std::string forms_help() {
  std::string text = "What was seen, as typed into `scan`:\n";
  for (const EntryForm& form : entry_forms()) text += fmt::format("  {:34} {}\n", form.form, form.help);
  return text;
}

void add_log_verb(CLI::App& app, Session& session) {
  auto options = std::make_shared<LogOptions>();
  auto* log = app.add_subcommand("log",
                                 "Record by hand: `log fed C-14 C-15 small-rat x2`, `log weighed C-14 412 --at "
                                 "\"yesterday 19:30\"`, `log paired C-20 C-8`");
  log->footer(forms_help());
  log->add_option("words", options->words, "What was seen, of whom (codes or short IDs), and the entry's further words")
      ->required();
  log->add_option("--at", options->at, "When: 19:30, \"yesterday 19:30\", 2026-11-24, 2h ago");
  log->add_option("--by", options->by, "The helper who saw it");
  log->add_option("--note", options->note, "Free text (sealed: it can be erased later)");
  log->add_flag("--again", options->again, "A further one: a second serving, more eggs");
  log->add_flag("--same", options->same, "A second account of the very same");
  log->add_flag("--replaces", options->replaces, "A correction: the earlier entry is withdrawn");
  log->callback([&session, options] { log_events(session, *options); });
}

void add_judge_verb(CLI::App& app, Session& session, const char* name, const char* help, Kind judgement) {
  auto options = std::make_shared<JudgeOptions>();
  auto* verb = app.add_subcommand(name, help);
  verb->add_option("what", options->what, "An entry's id as `history` shows it, or a code or short ID: its newest")
      ->required();
  verb->add_option("--by", options->by, "Who says so");
  verb->add_option("--note", options->note, "Why (sealed)");
  verb->callback([&session, options, judgement] {
    // An entry's id and a short ID are no files; whoever has a file of that name writes ./NAME.
    const bool is_backup = judgement == Kind::restored && std::filesystem::is_regular_file(options->what);
    if (is_backup) return restore_backup(session, options->what);
    judge_entry(session, *options, judgement);
  });
}

}  // namespace

void add_entry_verbs(CLI::App& app, Session& session) {
  add_log_verb(app, session);
  add_judge_verb(app, session, "void", "Withdraw an entry; nothing is deleted", Kind::voided);
  add_judge_verb(app, session, "restore", "Bring a withdrawn entry back; or make a book from a backup: `restore FILE`",
                 Kind::restored);
  auto rest = std::make_shared<RestOptions>();
  auto* verb = app.add_subcommand("rest-ate", "Close all open offers of a rack at once: the rest ate");
  verb->add_option("rack", rest->rack, "Code or short ID of the rack")->required();
  verb->add_option("--by", rest->by, "The helper who looked");
  verb->add_option("--at", rest->at, "When");
  verb->callback([&session, rest] { rest_of_rack(session, *rest); });
}

}  // namespace rackside::cli
