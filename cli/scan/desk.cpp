#include "cli/scan/desk.h"

#include <algorithm>

#include "cli/scan/card.h"
#include "cli/wording.h"
#include "core/entry/corrections.h"

namespace rackside::cli {

using namespace core;
using What = LineOutcome::What;

namespace {

std::string trimmed(const std::string& text) {
  const auto first = text.find_first_not_of(" \t\r\n");
  if (first == std::string::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
}

std::string lowered(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
  return text;
}

LineOutcome failed(Fault fault, const std::string& message) {
  return {.what = What::not_understood, .message = message, .fault = fault};
}

/// What a person can mend by scanning or typing again. Faults of the book end the scan.
bool is_of_the_line(Fault fault) {
  return fault == Fault::usage || fault == Fault::bad_code || fault == Fault::unknown_code ||
         fault == Fault::ambiguous || fault == Fault::bad_input;
}

}  // namespace

std::string_view word_of(What what) {
  switch (what) {
    case What::shown:
      return "shown";
    case What::recorded:
      return "recorded";
    case What::doubled:
      return "doubled";
    case What::undone:
      return "undone";
    case What::set:
      return "set";
    case What::asked:
      return "asked";
    case What::nothing:
      return "nothing";
    default:
      return "not-understood";
  }
}

Desk::Desk(Session& session, Options options)
    : session_(session), options_(std::move(options)), guard_(options_.guard_ms) {}

std::string Desk::round_text() const {
  return round_ ? typed_form(*round_) : std::string();
}

std::vector<LineOutcome> Desk::take(const std::string& line) {
  const std::string text = trimmed(line);
  std::vector<LineOutcome> out;
  if (text.empty()) return out;
  if (pending_) {
    if (auto outcome = answered(text)) {
      outcome->input = text;
      return {std::move(*outcome)};
    }
    out.push_back(pass_over());
  }
  out.push_back(understand(text));
  out.back().input = text;
  return out;
}

std::vector<LineOutcome> Desk::finish() {
  if (!pending_) return {};
  return {pass_over()};
}

LineOutcome Desk::understand(const std::string& line) {
  try {
    return dispatch(line);
  } catch (const Error& error) {
    if (!is_of_the_line(error.fault())) throw;
    return failed(error.fault(), error.what());
  }
}

LineOutcome Desk::dispatch(const std::string& line) {
  const auto space = line.find(' ');
  const std::string first = lowered(line.substr(0, space));
  const std::string rest = space == std::string::npos ? "" : trimmed(line.substr(space));
  bool is_control = false;
  LineOutcome outcome = control(first, rest, is_control);
  if (is_control) return outcome;
  if (begins_entry(line)) return entered(line);
  Reader reader = session_.reader();
  // "C-14 fed mouse": the thing and its entry on one line.
  if (!rest.empty() && begins_entry(rest)) {
    const EntryReading reading = parse_entry(rest);
    const Found found = find_scanned(session_, reader, line.substr(0, space));
    if (!reading.entry) return failed(Fault::usage, reading.problem);
    if (has_scene(found)) return record(found, *reading.entry, {}, options_.asking);
  }
  return scanned(find_scanned(session_, reader, line));
}

LineOutcome Desk::control(const std::string& word, const std::string& rest, bool& is_control) {
  is_control = true;
  if (word == "done" && rest.empty()) return done();
  if (word == "undo" && rest.empty()) return undo();
  if (word == "rest-ate") return rest_ate(rest);
  is_control = false;
  return {};
}

LineOutcome Desk::done() {
  LineOutcome out{.what = What::set};
  if (round_) {
    out.message = "the round “" + round_text() + "” is over: " + std::to_string(in_round_) + " recorded";
  } else {
    out.what = current_ ? What::set : What::nothing;
    out.message = current_ ? current_->named.label + " is done; an entry now begins a round" : "nothing was open";
  }
  round_.reset();
  current_.reset();
  in_round_ = 0;
  return out;
}

LineOutcome Desk::scanned(const Found& found) {
  if (found.named.kind == "shortcut") {
    Reader reader = session_.reader();
    const std::string entry = reader.field(found.named.thing, "entry");
    if (entry.empty())
      return failed(Fault::bad_input,
                    "the scan sheet entry " + found.code + " has no words in this book. Print the sheet anew");
    if (read_code(entry).code)
      return failed(Fault::bad_input, "the scan sheet entry " + found.code + " stands for a code, not for an entry");
    LineOutcome out =
        begins_entry(entry) || lowered(entry).starts_with("rest-ate") || entry == "undo" || entry == "done"
            ? dispatch(entry)
            : failed(Fault::bad_input, "the scan sheet entry “" + entry + "” is not understood");
    if (!found.notice.empty()) out.notices.push_back(found.notice);
    return out;
  }
  if (found.named.kind == "helper") {
    options_.by = found.code;
    return {.what = What::set, .message = "entries are now by " + found.named.label, .about = {found.named}};
  }
  if (found.named.kind == "rack") {
    return {.what = What::nothing,
            .message = "rack " + found.named.label + ": scan a place or an animal, or type “rest-ate " +
                       found.named.label + "”"};
  }
  if (round_) return record(found, *round_, {}, options_.asking);
  return show(found);
}

LineOutcome Desk::show(const Found& found) {
  current_ = found;
  Reader reader = session_.reader();
  const Scene scene = scene_of(reader, found, session_.now());
  Card card = card_of(session_, reader, scene);
  LineOutcome out{.what = What::shown, .message = card.line, .warnings = card.cautions, .details = card.lines};
  out.headline = card.headline;
  for (const Resident& one : scene.found) out.about.push_back(one.animal);
  if (scene.is_place) out.place = scene.code;
  if (!found.notice.empty()) out.notices.push_back(found.notice);
  return out;
}

LineOutcome Desk::entered(const std::string& text) {
  const EntryReading reading = parse_entry(text);
  if (!reading.entry) return failed(Fault::usage, reading.problem);
  if (current_) return record(*current_, *reading.entry, {}, options_.asking);
  if (reading.entry->kind == Kind::paired)
    return failed(Fault::usage, "“paired” is of two animals: scan the first, then “paired” and the other");
  round_ = reading.entry;
  in_round_ = 0;
  return {.what = What::set,
          .message = "ROUND: every code now gets “" + round_text() + "” until “done” or another entry"};
}

LineOutcome Desk::rest_ate(const std::string& rack_text) {
  Reader reader = session_.reader();
  std::optional<Thing> rack;
  if (!rack_text.empty()) {
    rack = session_.find(rack_text, {"rack"}).thing;
  } else if (current_ && current_->named.kind == "place") {
    rack = reader.rack_of(current_->named.thing);
  }
  if (!rack) return failed(Fault::usage, "which rack? Write “rest-ate RACK”, or scan a place of it first");
  const Named named = reader.named(*rack);
  RestAte rest = core::rest_ate(reader, named, session_.now());
  if (!rest.draft) return {.what = What::nothing, .message = "no offer is open in rack " + named.label};
  rest.draft->by = options_.by;
  LineOutcome out{.what = What::recorded, .about = rest.animals};
  out.event = session_.record({std::move(*rest.draft)}).front();
  ++recorded_;
  out.message = "the rest of rack " + named.label + " ate: " + std::to_string(rest.animals.size()) + " open offer" +
                (rest.animals.size() == 1 ? "" : "s") + " closed (" + joined_labels(rest.animals, ", ") + ")";
  return out;
}

LineOutcome Desk::undo() {
  Reader reader = session_.reader();
  const auto line = newest_own_entry(reader, session_.now());
  if (!line)
    return {.what = What::nothing, .message = "nothing of today to undo here; for an older entry: `rackside void`"};
  Draft draft = withdrawal_of(*line);
  draft.by = options_.by;
  LineOutcome out{.what = What::undone};
  out.event = session_.record({std::move(draft)}).front();
  guard_.forget();
  recorded_ = std::max(0, recorded_ - 1);
  in_round_ = std::max(0, in_round_ - 1);
  std::string whose;
  for (const std::string& code : line->event->of) {
    const auto thing = reader.thing_of(code);
    whose += (whose.empty() ? "" : " and ") + (thing ? reader.label(*thing) : code);
  }
  if (whose.empty() && !line->event->place.empty()) {
    const auto thing = reader.thing_of(line->event->place);
    whose = thing ? reader.label(*thing) : line->event->place;
  }
  out.message = "taken back: " + whose + (whose.empty() ? "" : " ") + sentence_of(reader, *line) + " (" +
                session_.when(line->at) + ")";
  return out;
}

// ---- recording

LineOutcome Desk::record(const Found& found, const Entry& entry, const Choices& choices, Asking asking) {
  const std::string key = typed_form(entry);
  const bool first_try = !choices.animal && !choices.relation;
  if (first_try && guard_.is_double(found.code, key, session_.clock().run_ms)) {
    return {.what = What::doubled,
            .message =
                found.named.label +
                ": the same entry was recorded a moment ago, so this one was not. If it happened twice, add “again”"};
  }
  Reader reader = session_.reader();
  const Instant at = seen_at(session_, reader, options_.said);
  const Scene scene = scene_of(reader, found, at);
  std::optional<Scene> target;
  if (!entry.target.empty()) target = scene_of(reader, find_scanned(session_, reader, entry.target), at);
  Composition made = compose(scene, entry, choices, target ? &*target : nullptr);
  const bool asks = made.ask.about != Ask::About::nothing;
  if (asks && asking == Asking::yes) return ask({found, entry, choices, made.ask});
  return write(found, scene, entry, std::move(made));
}

LineOutcome Desk::write(const Found& found, const Scene& scene, const Entry& entry, Composition made) {
  if (made.ask.needed)
    return failed(Fault::ambiguous, made.ask.text + " “" + std::string(word_of(entry.kind)) +
                                        "” was not recorded: scan the card of the one it is of");
  LineOutcome out{.what = What::recorded, .warnings = made.warnings, .notices = made.notices, .about = made.about};
  if (made.ask.about != Ask::About::nothing) out.notices.push_back(unanswered(made.ask));
  made.draft.by = options_.by;
  made.draft.said = options_.said;
  out.event = session_.record({std::move(made.draft)}).front();
  guard_.recorded(found.code, typed_form(entry), session_.clock().run_ms);
  ++recorded_;
  if (round_) ++in_round_;
  if (scene.is_place) out.place = scene.code;
  if (!found.notice.empty()) out.notices.push_back(found.notice);
  Reader reader = session_.reader();
  describe(reader, scene, entry, made.ask, out);
  return out;
}

/// "A-01: C-14 ate 2 × small-rat"
void Desk::describe(Reader& reader, const Scene& scene, const Entry& entry, const Ask& ask, LineOutcome& out) const {
  const bool whose_is_open = ask.about == Ask::About::animal;
  const bool of_tub = info_of(entry.kind).rebinding == Rebinding::silent && scene.is_place;
  const bool names_place = scene.is_place && !out.about.empty() && !of_tub;
  const bool tells_itself = entry.kind == Kind::paired || entry.kind == Kind::moved;
  std::string what = tells_itself ? sentence_of(reader, reader.line(*out.event)) : event_text(entry.kind, entry.own);
  out.headline = out.about.empty() || of_tub ? scene.scanned.label : joined_labels(out.about, " + ");
  std::string who = out.headline;
  if (whose_is_open) who = joined_labels(out.about, " or ");
  if (out.about.size() > 1 && !whose_is_open && !of_tub && what.starts_with("was ")) what.replace(0, 3, "were");
  out.message = (names_place ? scene.scanned.label + ": " : "") + (entry.kind == Kind::paired ? "" : who + " ") + what +
                (entry.note.empty() ? "" : ": " + entry.note);
}

// ---- questions

LineOutcome Desk::ask(Pending pending) {
  LineOutcome out{.what = What::asked, .message = pending.ask.text};
  int number = 0;
  const bool of_animals = pending.ask.about == Ask::About::animal;
  for (const Ask::Option& option : pending.ask.options)
    out.details.push_back("  " + std::to_string(++number) + "  " + (of_animals ? "" : option.word + ": ") +
                          option.text);
  out.details.push_back(pending.ask.about == Ask::About::animal
                            ? "  A number, a short ID, or scan its card; “-”: do not record"
                            : "  A number or the word; “-”: do not record");
  pending_ = std::move(pending);
  return out;
}

/// The outcome when the line answers what was asked; nothing when it means another thing.
std::optional<LineOutcome> Desk::answered(const std::string& line) {
  const std::string word = lowered(line);
  if (word == "-" || word == "no" || word == "undo") {
    pending_.reset();
    return LineOutcome{.what = What::nothing, .message = "not recorded"};
  }
  const CodeReading code = read_code(line);
  int number = 0;
  for (const Ask::Option& option : pending_->ask.options) {
    const bool by_code = code.code && code.code->text() == option.code;
    if (word != std::to_string(++number) && word != lowered(option.word) && !by_code) continue;
    Pending pending = std::move(*pending_);
    pending_.reset();
    if (pending.ask.about == Ask::About::animal) {
      pending.choices.animal = option.code;
    } else {
      pending.choices.relation = option.relation;
    }
    return record(pending.found, pending.entry, pending.choices, options_.asking);
  }
  if (!is_pending_again(line)) return std::nullopt;
  return ask(Pending(*pending_));
}

/// The same label once more is no answer and no new entry.
bool Desk::is_pending_again(const std::string& line) {
  const CodeReading code = read_code(line);
  return code.code && code.code->text() == pending_->found.code;
}

/// Nobody answered: what was seen is saved as it is.
LineOutcome Desk::pass_over() {
  Pending pending = std::move(*pending_);
  pending_.reset();
  return record(pending.found, pending.entry, pending.choices, Asking::no);
}

}  // namespace rackside::cli
