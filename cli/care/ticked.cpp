// ticked: what was ticked on the paper sheet of a rack, entered in one go.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>
#include <iostream>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>

#include "cli/care/care.h"
#include "cli/scan/finder.h"
#include "cli/verbs.h"
#include "core/entry/compose.h"
#include "core/entry/corrections.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

constexpr const char* kLastBatch = "ticked";  ///< of this copy alone: what `--undo` takes back

struct TickedOptions {
  std::string rack, night, at = "20:00", by;
  std::vector<std::string> lines;
  bool dry_run = false;
  bool undo = false;
};

/// One line of the sheet as entered: an entry, and the tubs that it is of.
struct Line {
  std::string typed;
  Entry entry;
  std::vector<Thing> places;
};

/// A tub's entry as it will be written, or why it is left out.
struct Tick {
  Named place;
  Composition made;
  std::string left_out;
  bool food_waits = false;  ///< by the book, before this entry
};

using Ticks = std::vector<std::pair<const Line*, Tick>>;

/// Every problem, by line: a sheet is entered as a whole or not at all.
class Problems {
 public:
  void add(const std::string& line, const std::string& what) { all_.push_back("“" + line + "”: " + what); }
  void raise() const {
    if (all_.empty()) return;
    std::string text = all_.size() == 1 ? "Nothing was recorded. "
                                        : fmt::format("Nothing was recorded; {} lines are wrong:\n", all_.size());
    for (const std::string& one : all_)
      text += (all_.size() == 1 ? "" : "  ") + one + (&one == &all_.back() ? "" : "\n");
    throw Error(Fault::bad_input, text);
  }

 private:
  std::vector<std::string> all_;
};

std::vector<std::string> words_of(const std::string& text) {
  std::vector<std::string> out;
  std::string word;
  for (const char c : text + " ") {
    if (c != ' ' && c != ',' && c != '\t' && c != '\r') {
      word += c;
    } else if (!word.empty()) {
      out.push_back(std::move(word));
      word.clear();
    }
  }
  return out;
}

std::optional<int> number_in(std::string_view text) {
  int out = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out);
  return !text.empty() && error == std::errc{} && end == text.data() + text.size() && out > 0 ? std::optional(out)
                                                                                              : std::nullopt;
}

/// The rack's places by the number on the sheet and by label.
class RackPlaces {
 public:
  RackPlaces(Reader& reader, const Named& rack) {
    for (const Thing place : reader.places_of(rack.thing)) {
      const std::string position = reader.field(place, "position");
      if (const auto number = number_in(position)) by_number_[*number] = place;
      by_label_[lowered(reader.label(place))] = place;
    }
  }

  /// "7", "1-4" or "A-07"; an empty list where there is no such tub.
  std::vector<Thing> named(const std::string& word) const {
    std::vector<Thing> out;
    const auto label = by_label_.find(lowered(word));
    if (label != by_label_.end()) return {label->second};
    const auto dash = word.find('-');
    const auto first = number_in(std::string_view(word).substr(0, dash));
    const auto last = dash == std::string::npos ? first : number_in(std::string_view(word).substr(dash + 1));
    if (!first || !last) return {};
    for (auto one = by_number_.lower_bound(*first); one != by_number_.end() && one->first <= *last; ++one)
      out.push_back(one->second);
    // Both ends must be there: else a slip of the finger goes unnoticed.
    const bool ends = by_number_.contains(*first) && by_number_.contains(*last) && *first <= *last;
    return ends ? out : std::vector<Thing>{};
  }

  std::string highest() const { return by_number_.empty() ? "none" : std::to_string(by_number_.rbegin()->first); }

 private:
  static std::string lowered(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(),
                   [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
    return text;
  }
  std::map<int, Thing> by_number_;
  std::map<std::string, Thing> by_label_;
};

bool names_no_other(Kind kind) {
  const KindInfo& info = info_of(kind);
  return info.kind_class == KindClass::observation && kind != Kind::noted;
}

std::optional<Line> read_line(const std::string& typed, const RackPlaces& places, Problems& problems) {
  const auto colon = typed.rfind(':');
  if (colon == std::string::npos) {
    problems.add(typed, "write what was seen, a colon, and the tubs: fed: 1-4 7");
    return std::nullopt;
  }
  EntryReading reading = parse_entry(typed.substr(0, colon));
  if (!reading.entry) {
    problems.add(typed, reading.problem);
    return std::nullopt;
  }
  if (!names_no_other(reading.entry->kind)) {
    problems.add(typed, "only what is seen at a tub can be ticked; enter this by `rackside log`");
    return std::nullopt;
  }
  Line out{typed, std::move(*reading.entry), {}};
  const std::size_t before = out.places.size();
  for (const std::string& word : words_of(typed.substr(colon + 1))) {
    const auto found = places.named(word);
    if (found.empty())
      problems.add(typed, "there is no tub “" + word + "” in this rack (its tubs go up to " + places.highest() + ")");
    out.places.insert(out.places.end(), found.begin(), found.end());
  }
  if (out.places.size() == before) problems.add(typed, "the numbers of the tubs are missing");
  return out;
}

bool is_outcome(Kind kind) {
  return kind == Kind::fed || kind == Kind::refused || kind == Kind::offered || kind == Kind::ate ||
         kind == Kind::leftover;
}

/// What came of food that was left in.
bool is_of_morning(Kind kind) {
  return kind == Kind::ate || kind == Kind::leftover;
}

/// Why one tub cannot stand in both lines.
std::string why_not_both(Kind a, Kind b) {
  const bool left_in = a == Kind::offered || b == Kind::offered;
  if (a != b && left_in)
    return ". Food that was left in is `offered`, and in the morning `ate` (gone) or `leftover` (still there)";
  const bool at_once = a == Kind::fed || b == Kind::fed || a == Kind::refused || b == Kind::refused;
  if (at_once && (is_of_morning(a) || is_of_morning(b)))
    return ". `fed` and `refused` are seen at once; `ate` and `leftover` in the morning, of food that was left in";
  return "";
}

/// A tub ate or refused; it cannot stand in two of these lines. But what was left in has an outcome in the morning.
void check_twice(Reader& reader, const std::vector<Line>& lines, Problems& problems) {
  std::map<Thing, std::vector<const Line*>> outcomes;
  for (const Line& line : lines) {
    const Kind kind = line.entry.kind;
    if (!is_outcome(kind)) continue;
    for (const Thing place : line.places) {
      std::vector<const Line*>& known = outcomes[place];
      const auto other = std::find_if(known.begin(), known.end(), [&](const Line* one) {
        const Kind before = one->entry.kind;
        return !(before == Kind::offered && is_of_morning(kind)) && !(kind == Kind::offered && is_of_morning(before));
      });
      if (other != known.end())
        problems.add(line.typed, reader.label(place) + " stands in “" + (*other)->typed + "” already" +
                                     why_not_both((*other)->entry.kind, kind));
      known.push_back(&line);
    }
  }
}

std::vector<std::string> typed_lines(const TickedOptions& options, bool terminal) {
  if (!options.lines.empty() && !(options.lines.size() == 1 && options.lines[0] == "-")) return options.lines;
  if (terminal) std::cerr << "One line for each sort of tick, as: fed: 1-4 7    An empty line ends.\n";
  std::vector<std::string> out;
  for (std::string line; std::getline(std::cin, line);) {
    if (words_of(line).empty()) {
      if (terminal) break;
      continue;
    }
    out.push_back(line);
  }
  return out;
}

/// Of the night on the sheet; without one of the newest walk at that time, so that a sheet can be entered at breakfast.
SaidTime said_time(Session& session, const TickedOptions& options) {
  SaidTime said = session.parse_at(options.at);
  DayNumber day = 0;
  if (!options.night.empty()) {
    if (!parse_date(options.night, day))
      throw Error(Fault::usage, "“" + options.night + "” is no night: write its date as on the sheet, 2026-11-27.");
    said.day = day;
  } else if (!said.day && !said.minutes_ago) {
    Reader reader = session.reader();
    const Zone& zone = reader.settings().zone;
    day = zone.day_of(session.now());
    said.day = zone.first_instant_of(day, said.minute.value_or(0)) > session.now() ? day - 1 : day;
  }
  return said;
}

/// Whoever types the sheet's column "ate" as it stands there means what was eaten at once.
void warn_of_no_offer(const Line& line, Tick& tick) {
  tick.made.warnings.push_back(
      tick.place.label + ", “" + line.typed + "”: by the book no food waits there; " +
      (line.entry.kind == Kind::ate ? "what was eaten at once is `fed`" : "what was not taken at once is `refused`") +
      ". Saved as you said");
}

Tick tick_of(Reader& reader, const Line& line, const Named& place, const SaidTime& said, Instant at) {
  Tick out{.place = place};
  const Scene scene = look(reader, out.place, "", at);
  if (scene.found.empty()) {
    out.left_out = "nobody was there by the book";
    return out;
  }
  out.made = compose(scene, line.entry);
  out.made.draft.said = said;
  out.food_waits =
      std::any_of(scene.found.begin(), scene.found.end(), [](const Resident& one) { return !one.open_offers.empty(); });
  if (out.made.ask.about == Ask::About::animal)
    out.left_out = "two animals were there: enter it by `rackside log` with the animal’s name";
  else if (out.made.ask.about == Ask::About::relation)
    out.left_out = "recorded already that night; a second one is entered by `rackside log … again`";
  return out;
}

std::string told(const Tick& tick, const Line& line) {
  std::string who;
  for (const Named& one : tick.made.about) who += (who.empty() ? "" : " and ") + one.label;
  return tick.place.label + " " + who + " " + event_text(line.entry.kind, line.entry.own);
}

void tell(Session& session, const Ticks& ticks, const TickedOptions& options) {
  std::size_t recorded = 0;
  Json list = Json::array();
  for (const auto& [line, tick] : ticks) {
    const bool good = tick.left_out.empty();
    recorded += good ? 1 : 0;
    list.push_back({{"place", tick.place.label},
                    {"line", line->typed},
                    {"recorded", good && !options.dry_run},
                    {"left_out", tick.left_out},
                    {"warnings", tick.made.warnings}});
    if (session.json) continue;
    if (!good)
      session.terminal.warn(tick.place.label + ", “" + line->typed + "”: not recorded, " + tick.left_out + ".");
    for (const std::string& warning : tick.made.warnings)
      if (good) session.terminal.warn(warning + ".");
    if (good && options.dry_run) session.terminal.line("  " + told(tick, *line));
  }
  if (session.json) return session.terminal.line(list.dump());
  if (options.dry_run)
    return session.terminal.line(fmt::format("{} entries would be recorded. Nothing was.", recorded));
  session.terminal.good(fmt::format("{} entr{} recorded. Mistaken? `rackside ticked --undo` takes them back.", recorded,
                                    recorded == 1 ? "y" : "ies"));
}

void undo(Session& session) {
  const auto last = session.book().own_value(kLastBatch);
  if (!last || last->empty())
    throw Error(Fault::bad_input, "Nothing was entered from a sheet that could be taken back.");
  Reader reader = session.reader();
  std::vector<Draft> drafts;
  std::istringstream in(*last);
  for (std::string text; std::getline(in, text);) {
    const auto ref = ref_from_text(text);
    if (!ref) continue;
    const StoryLine line = reader.line(*ref);
    if (!line.gone) drafts.push_back(withdrawal_of(line));
  }
  const std::size_t count = drafts.size();
  if (!drafts.empty()) session.record(std::move(drafts));
  session.book().set_own_value(kLastBatch, "");
  if (session.json) return session.terminal.line(Json{{"withdrawn", count}}.dump());
  session.terminal.good(fmt::format("{} entr{} of the last sheet withdrawn; `rackside history` still shows them.",
                                    count, count == 1 ? "y" : "ies"));
}

void enter(Session& session, const TickedOptions& options) {
  if (options.undo) return undo(session);
  if (options.rack.empty()) throw Error(Fault::usage, "Which rack? Write it as on the sheet: `rackside ticked A`.");
  const Named rack = session.find(options.rack, {"rack"});
  Reader reader = session.reader();
  const RackPlaces places(reader, rack);
  Problems problems;
  std::vector<Line> lines;
  for (const std::string& typed : typed_lines(options, session.terminal.in_is_terminal())) {
    if (auto line = read_line(typed, places, problems)) lines.push_back(std::move(*line));
  }
  check_twice(reader, lines, problems);
  problems.raise();
  if (lines.empty()) throw Error(Fault::usage, "Nothing was ticked: write lines as \"fed: 1-4 7\".");
  const SaidTime said = said_time(session, options);
  const Instant at = seen_at(session, reader, said);
  const std::string by = options.by.empty() ? "" : session.find(options.by, {"helper"}).code;
  Ticks ticks;
  std::set<Thing> left_in;
  for (const Line& line : lines) {
    for (const Thing place : line.places) {
      ticks.push_back({&line, {.place = reader.named(place)}});
      if (line.entry.kind == Kind::offered) left_in.insert(place);
    }
  }
  // First what was left in: what the morning tells answers it, and must find it in the book.
  std::string batch;
  for (const bool offers : {true, false}) {
    Reader now = session.reader();
    std::vector<Draft> drafts;
    for (auto& [line, tick] : ticks) {
      if ((line->entry.kind == Kind::offered) != offers) continue;
      tick = tick_of(now, *line, tick.place, said, at);
      tick.made.draft.by = by;
      if (is_of_morning(line->entry.kind) && !tick.food_waits && !left_in.contains(tick.place.thing))
        warn_of_no_offer(*line, tick);
      if (tick.left_out.empty()) drafts.push_back(tick.made.draft);
    }
    if (options.dry_run || drafts.empty()) continue;
    for (const EventRef& ref : session.record(std::move(drafts))) batch += to_text(ref) + "\n";
    session.book().set_own_value(kLastBatch, batch);
  }
  tell(session, ticks, options);
}

}  // namespace

void add_ticked_verb(CLI::App& app, Session& session) {
  auto options = std::make_shared<TickedOptions>();
  auto* ticked = app.add_subcommand("ticked", "Enter what was ticked on a rack's paper sheet, in one go");
  ticked->add_option("rack", options->rack, "As on the sheet");
  ticked->add_option("lines", options->lines,
                     "What was seen, a colon, the numbers of the tubs: \"fed: 1-4 7\"; none: read from standard input");
  ticked->add_option("--night", options->night, "The date on the sheet (today where it is left out)");
  ticked->add_option("--at", options->at, "The time of the walk")->capture_default_str();
  ticked->add_option("--by", options->by, "The helper who ticked");
  ticked->add_flag("--dry-run", options->dry_run, "Only show what would be recorded");
  ticked->add_flag("--undo", options->undo, "Take back what was entered from the last sheet");
  ticked->footer(
      "rackside ticked A --night 2026-11-27 \"fed: 1-4 7\" \"fed small-rat x2: 9\" \"refused: 5\" \"shed: 12\"\n"
      "rackside ticked A --night 2026-11-27 \"offered: 14 16\"      food was left in; and when you look next morning:\n"
      "rackside ticked A --night 2026-11-27 \"ate: 14\" \"leftover: 16\"      gone, still there\n"
      "All lines are recorded, or none when one is wrong. What somebody recorded already that night is left out and "
      "told.");
  ticked->callback([&session, options] { enter(session, *options); });
}

}  // namespace rackside::cli
