#include "core/entry/aisle.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "core/entry/corrections.h"
#include "core/entry/scene.h"
#include "core/read/clutches.h"
#include "core/read/genes.h"
#include "core/read/rotation_list.h"
#include "core/read/season_list.h"
#include "core/read/today.h"

namespace rackside::core {
namespace {

constexpr Instant kSeenReaches = 60 * kDay;
constexpr Instant kAllOfLately = 8 * kDay;
constexpr Instant kNightsOfFood = 2 * kDay;

/// What a card shows or an entry may answer, besides food. Of each the newest, and all of the last days.
constexpr std::array kShown = {Kind::shed, Kind::cleared, Kind::opaque, Kind::regurgitated,
                               Kind::laid, Kind::treated, Kind::ill,    Kind::well};

bool is_food(Kind kind) {
  return kind == Kind::fed || kind == Kind::ate || kind == Kind::refused || kind == Kind::offered ||
         kind == Kind::leftover;
}

void set_text(Value& line, std::string_view key, const std::string& text) {
  if (!text.empty()) line.set(key, text);
}

template <class Number>
void set_number(Value& line, std::string_view key, const std::optional<Number>& number) {
  if (number) line.set(key, static_cast<std::int64_t>(*number));
}

Value refs(const std::vector<EventRef>& all) {
  Value::Array out;
  for (const EventRef& ref : all) out.push_back(to_text(ref));
  return out;
}

/// Who was together on a visit since then, by animal, either way: of an ill one they are looked at too.
std::map<Thing, std::set<Thing>> partners_since(Reader& reader, Instant since) {
  std::map<Thing, std::set<Thing>> out;
  auto query = reader.book().database().prepare(
      "SELECT animal, partner FROM stay WHERE role = 1 AND partner IS NOT NULL AND (until IS NULL OR until > ?)");
  query.bind(since);
  while (query.step()) {
    const Thing visitor = query.integer(0);
    const Thing host = query.integer(1);
    if (visitor == host) continue;
    out[visitor].insert(host);
    out[host].insert(visitor);
  }
  return out;
}

/// A code that a keeper joined to a thing: of a card printed anew, or of a box in which a clutch lies.
struct JoinedCode {
  std::string text;
  std::int64_t box = 0;            ///< 0: no egg box
  std::optional<EventRef> laying;  ///< of the eggs in the box
};

/// Codes that stand for another thing than their own, by that thing.
std::map<Thing, std::vector<JoinedCode>> joined_codes(Reader& reader) {
  std::map<std::string, std::pair<Thing, JoinedCode>> found;
  auto query = reader.book().database().prepare("SELECT event FROM administration WHERE kind = ?");
  query.bind(static_cast<int>(Kind::coded));
  while (query.step()) {
    const auto event = reader.book().log().event_of(query.integer(0));
    const std::string text(event->own.text("code"));
    const auto thing = reader.thing_of(text);
    // Of two joinings of one code one holds: the other speaks of another thing.
    if (!thing || event->of.empty() || reader.thing_of(event->of.front()) != thing) continue;
    JoinedCode code{.text = text, .box = event->own.number("box")};
    if (code.box > 0 && !event->re.empty()) code.laying = event->re.front().event;
    found.insert_or_assign(text, std::pair(*thing, std::move(code)));
  }
  std::map<Thing, std::vector<JoinedCode>> out;
  for (auto& [text, one] : found) {
    if (reader.named(one.first).code != text) out[one.first].push_back(std::move(one.second));
  }
  return out;
}

/// What lies in an egg box: the clutch as it stands now.
void add_eggs(const Clutch& clutch, Value& line) {
  line.set("laid", static_cast<std::int64_t>(clutch.laid));
  set_number(line, "good", clutch.good);
  set_number(line, "slugs", clutch.slugs);
  if (!clutch.incubation.empty()) line.set("celsius_tenths", clutch.incubation.back().celsius_tenths);
  if (!clutch.candlings.empty()) {
    const Candling& last = clutch.candlings.back();
    line.set("candled", static_cast<std::int64_t>(last.day));
    set_number(line, "candled_good", last.good);
    set_number(line, "candled_bad", last.bad);
  }
  if (clutch.pipped > 0) line.set("pipped", clutch.pipped);
  if (clutch.hatched > 0) line.set("hatched", clutch.hatched);
  line.set("waiting", clutch.waiting());
}

/// An animal's accounts, newest first, by event row: read once, because each of several questions about them would
/// else read a whole life.
struct Life {
  struct Row {
    EventRow event = 0;
    Kind kind = Kind::unknown;
    Instant at = 0;
  };
  std::vector<Row> rows;

  Life(Reader& reader, Thing animal) {
    auto query = reader.book().database().prepare(
        "SELECT event, kind, at FROM account WHERE subject = ? ORDER BY at DESC, event DESC");
    query.bind(animal);
    while (query.step()) rows.push_back({query.integer(0), static_cast<Kind>(query.integer(1)), query.integer(2)});
  }

  const Row* newest(std::initializer_list<Kind> kinds) const {
    const auto found = std::find_if(rows.begin(), rows.end(), [&](const Row& row) {
      return std::find(kinds.begin(), kinds.end(), row.kind) != kinds.end();
    });
    return found == rows.end() ? nullptr : &*found;
  }
  /// Its newest `left` or `died`, unless it was moved since.
  const Row* departure() const {
    const Row* row = newest({Kind::left, Kind::died, Kind::moved, Kind::swapped});
    return row && (row->kind == Kind::left || row->kind == Kind::died) ? row : nullptr;
  }
};

class Aisle {
 public:
  Aisle(Reader& reader, Instant now)
      : reader_(reader),
        care_(care_settings(reader)),
        now_(now),
        partners_(partners_since(reader, now - care_.limits[Limit::neighbour_days] * kDay)) {}

  std::vector<AisleLine> lines() {
    add_settings();
    for (const Named& rack : reader_.racks()) add_rack(rack);
    for (const Named& place : reader_.all("place")) add_place(place);
    for (const Named& helper : reader_.all("helper")) add("helper", helper.code, named("helper", helper));
    for (const Named& shortcut : reader_.all("shortcut")) add_shortcut(shortcut);
    for (const char* kind : {"animal", "group", "clutch"}) {
      for (const Named& animal : reader_.all(kind)) add_animal(animal);
    }
    for (const auto& [thing, codes] : joined_codes(reader_)) add_codes(thing, codes);
    for (const Question& question : reader_.questions()) add_question(question);
    for (const RotationLine& line : rotation_list(reader_, now_)) add_errand(line);
    add_seasons();
    return std::move(out_);
  }

  std::vector<AisleLine> lines_of(const std::set<Thing>& things) {
    for (const Thing thing : things) {
      const Named one = reader_.named(thing);
      if (one.kind == "place") add_place(one);
      if (one.kind == "animal" || one.kind == "group" || one.kind == "clutch") add_animal(one);
    }
    for (const auto& [thing, codes] : joined_codes(reader_)) {
      if (things.contains(thing)) add_codes(thing, codes);
    }
    for (const Question& question : reader_.questions()) add_question(question);
    return std::move(out_);
  }

 private:
  void add(std::string_view sort, const std::string& id, const Value& line) {
    out_.push_back({std::string(sort) + ":" + id, write_compact(line)});
  }

  static Value named(std::string_view sort, const Named& thing) {
    Value line = Value::Object{{"t", sort}, {"id", thing.code}};
    if (thing.label != thing.code) line.set("label", thing.label);
    return line;
  }

  std::string code_of(Thing thing) { return reader_.named(thing).code; }

  void add_settings() {
    const FoldSettings& settings = reader_.settings();
    Value::Array steps;
    for (const Zone::Step& step : settings.zone.steps)
      steps.push_back(Value::Array{step.from, static_cast<std::int64_t>(step.minutes_east)});
    add("settings", "book",
        Value::Object{{"t", "settings"},
                      {"id", "book"},
                      {"zone", std::move(steps)},
                      {"night_start", static_cast<std::int64_t>(settings.night_start_minute)},
                      {"limits", value_of(care_.limits)}});
  }

  void add_rack(const Named& rack) {
    Value line = named("rack", rack);
    set_text(line, "walk", reader_.field(rack.thing, "walk"));
    if (reader_.field(rack.thing, "quarantine") == "yes") line.set("quarantine", 1);
    add("rack", rack.code, line);
  }

  void add_place(const Named& place) {
    Value line = named("place", place);
    set_text(line, "rack", reader_.field(place.thing, "rack"));
    set_text(line, "position", reader_.field(place.thing, "position"));
    const std::vector<EventRef> moves = moves_at(reader_, place.thing, now_);
    if (!moves.empty()) line.set("moves", refs(moves));
    add("place", place.code, line);
  }

  void add_shortcut(const Named& shortcut) {
    Value line = named("shortcut", shortcut);
    set_text(line, "entry", reader_.field(shortcut.thing, "entry"));
    add("shortcut", shortcut.code, line);
  }

  void add_codes(Thing thing, const std::vector<JoinedCode>& codes) {
    const Named named = reader_.named(thing);
    const bool of_boxes = std::any_of(codes.begin(), codes.end(), [](const JoinedCode& one) { return one.laying; });
    const auto clutches = of_boxes ? clutches_without_windows(reader_, thing, now_) : std::vector<Clutch>();
    for (const JoinedCode& one : codes) {
      Value line = Value::Object{{"t", "code"}, {"id", one.text}, {"of", named.code}};
      if (named.label != named.code) line.set("label", named.label);
      if (one.laying) {
        line.set("box", one.box);
        line.set("boxes", std::count_if(codes.begin(), codes.end(),
                                        [&](const JoinedCode& other) { return other.laying == one.laying; }));
        const Instant laid_at = reader_.book().log().find(*one.laying) == 0 ? 0 : reader_.line(*one.laying).at;
        // The newest first: the first that is not younger is the one that was labelled.
        const auto clutch =
            std::find_if(clutches.begin(), clutches.end(), [&](const Clutch& laid) { return laid.laid_at <= laid_at; });
        if (clutch != clutches.end()) add_eggs(*clutch, line);
      }
      add("code", one.text, line);
    }
  }

  void add_animal(const Named& animal) {
    const auto lodgings = reader_.lodgings_of(animal.thing, now_);
    const Life life(reader_, animal.thing);
    const Life::Row* gone = life.departure();
    const bool long_gone = gone && lodgings.empty() && now_ - gone->at > kSeenReaches;
    if (long_gone) return;
    Value line = named("animal", animal);
    if (animal.kind != "animal") line.set("sort", animal.kind);
    for (const char* name : {"name", "sex", "species", "hatched", "prey", "every"})
      set_text(line, name, reader_.field(animal.thing, name));
    const GeneLines genes = gene_lines(reader_, animal.thing);
    set_text(line, "genes", genes.certain);
    set_text(line, "maybe", genes.possible);
    add_lodgings(lodgings, line);
    add_partners(animal.thing, line);
    add_facts(animal.thing, line);
    add_nights(animal.thing, life, line);
    add_body(animal.thing, life, line);
    if (gone) line.set("gone", Value::Array{std::string(word_of(gone->kind)), gone->at});
    add("animal", animal.code, line);
  }

  void add_lodgings(const std::vector<Lodging>& lodgings, Value& line) {
    for (const Lodging& one : lodgings) {
      if (one.role == Stay::Role::home) {
        line.set("home", Value::Array{code_of(one.place), to_text(one.by), one.since});
      } else {
        const std::string partner = one.partner ? code_of(*one.partner) : "";
        line.set("visit", Value::Array{code_of(one.place), to_text(one.by), one.since, partner});
      }
    }
  }

  void add_partners(Thing animal, Value& line) {
    const auto found = partners_.find(animal);
    if (found == partners_.end()) return;
    Value::Array codes;
    for (const Thing partner : found->second) codes.push_back(code_of(partner));
    line.set("partners", std::move(codes));
  }

  /// What a male's rotation asks for on one day.
  void add_errand(const RotationLine& one) {
    if (!one.advice.out_of && !one.advice.into) return;
    Value line = Value::Object{{"t", "errand"},
                               {"id", one.male.code},
                               {"day", static_cast<std::int64_t>(reader_.settings().zone.day_of(now_))}};
    if (one.advice.out_of) line.set("out_of", code_of(*one.advice.out_of));
    if (one.advice.into) line.set("into", code_of(*one.advice.into));
    if (one.out_place) line.set("out_place", one.out_place->code);
    if (one.into_place) line.set("into_place", one.into_place->code);
    add("errand", one.male.code, line);
  }

  /// When females are to lay and clutches to hatch: by the steps that each one's past and its species' tell together.
  void add_seasons() {
    std::map<std::string, SeasonRules> rules;
    std::map<std::string, PastDays> past;
    for (const Season& one : seasons_) {
      const auto [species, is_new] = rules.try_emplace(one.species);
      if (is_new) species->second = season_rules(reader_, one.species);
      add_past(one.record.past, species->second, past[one.species]);
    }
    std::map<std::string, StepWindows> windows;
    for (const auto& [species, of_species] : rules) windows[species] = windows_of(of_species, past[species]);
    const DayNumber today = reader_.settings().zone.day_of(now_);
    for (const Season& one : seasons_) {
      Value::Array all;
      for (const Expected& expected : expected_of(one.record.progress, windows[one.species], today))
        all.push_back(Value::Array{std::string(info_of(expected.step).word), expected.since, expected.first,
                                   expected.last, std::lround(expected.window.chance * 10)});
      if (all.empty()) continue;
      const std::string code = code_of(one.animal);
      add("season", code, Value::Object{{"t", "season"}, {"id", code}, {"expected", std::move(all)}});
    }
  }

  /// The facts from which the phone computes what is due: AnimalFacts, by the same names.
  void add_facts(Thing animal, Value& line) {
    const BoardRow row = work_out(reader_, care_, animal, now_);
    if (!row.species.empty() && !(row.season.progress.is_empty() && row.season.past.empty()))
      seasons_.push_back({animal, row.species, row.season});
    const DayNumber today = reader_.settings().zone.day_of(now_);
    add_facts_to(facts_on(row, care_, today), line);
    const Diet diet = diet_on(row, care_, today);
    // What the record says itself is sent as it stands there.
    if (row.prey.empty()) set_text(line, "prey", diet.prey);
    if (diet.count > 1) line.set("prey_count", static_cast<std::int64_t>(diet.count));
  }

  void add_nights(Thing animal, const Life& life, Value& line) {
    const auto nights = reader_.nights(animal, 1);
    std::vector<EventRef> of_night;
    if (!nights.empty()) {
      const NightOutcome& night = nights.front();
      of_night = night.accounts;
      Value last = Value::Object{
          {"number", static_cast<std::int64_t>(night.night.number)}, {"outcome", night.outcome}, {"at", night.last_at}};
      if (night.offer_open) last.set("open", 1);
      set_text(last, "prey", night.prey);
      // Of older nights nobody answers an account any more, unless the offer still waits.
      if (night.offer_open || now_ - night.last_at < kNightsOfFood) last.set("accounts", refs(night.accounts));
      line.set("night", std::move(last));
    }
    add_seen(life, of_night, line);
  }

  void add_seen(const Life& life, const std::vector<EventRef>& of_night, Value& line) {
    Value::Array seen;
    std::vector<Kind> told;
    for (const Life::Row& one : life.rows) {
      if (now_ - one.at > kSeenReaches) break;
      const bool food = is_food(one.kind) && (now_ - one.at < kNightsOfFood || line.find("open_offer"));
      const bool shown = std::find(kShown.begin(), kShown.end(), one.kind) != kShown.end();
      const bool newest = std::find(told.begin(), told.end(), one.kind) == told.end();
      if (!food && !(shown && (newest || now_ - one.at < kAllOfLately))) continue;
      const EventRef ref = reader_.book().log().ref_of(one.event);
      const bool of_last_night = std::find(of_night.begin(), of_night.end(), ref) != of_night.end();
      if (food && now_ - one.at >= kNightsOfFood && !of_last_night) continue;
      told.push_back(one.kind);
      seen.push_back(Value::Array{std::string(word_of(one.kind)), one.at, to_text(ref)});
    }
    if (!seen.empty()) line.set("seen", std::move(seen));
  }

  void add_body(Thing animal, const Life& life, Value& line) {
    if (const Life::Row* weighed = life.newest({Kind::weighed})) {
      line.set("grams_tenths", reader_.book().log().event_of(weighed->event)->own.number("grams_tenths"));
      line.set("weighed_at", weighed->at);
    }
    set_number(line, "dose_in_doubt", reader_.dose_in_doubt(animal, now_ - 7 * kDay));
    if (life.newest({Kind::sold})) line.set("sold", 1);
  }

  void add_question(const Question& question) {
    Value line = Value::Object{{"t", "question"}, {"id", question.id}, {"rule", rule_of(question.rule).name}};
    if (question.subject != 0) line.set("subject", code_of(question.subject));
    line.set("at", question.at);
    set_text(line, "outcome", question.outcome);
    if (question.amount != 0) line.set("amount", question.amount);
    Value::Array answers;
    for (const std::string& answer : question.answers) answers.push_back(answer);
    line.set("answers", std::move(answers));
    line.set("detail", question.detail);
    Value::Array members;
    for (const EventRef& member : question.members) members.push_back(account(reader_.line(member)));
    line.set("members", std::move(members));
    const std::vector<EventRef> settled = settlements_of(reader_, question);
    if (!settled.empty()) line.set("settled", refs(settled));
    add("question", question.id, line);
  }

  static Value account(const StoryLine& one) {
    const Event& event = *one.event;
    Value line = Value::Object{{"ref", to_text(one.ref)}, {"kind", one.kind_name}, {"at", one.at}};
    if (one.sure || one.said) line.set("sure", 1);
    set_text(line, "by", one.by);
    set_text(line, "by_code", event.by);
    set_text(line, "place", event.place);
    Value::Array of;
    for (const std::string& code : event.of) of.push_back(code);
    if (!of.empty()) line.set("of", std::move(of));
    if (event.own.as_object() && !event.own.as_object()->empty()) line.set("own", event.own);
    return line;
  }

  Reader& reader_;
  CareSettings care_;
  Instant now_;
  std::map<Thing, std::set<Thing>> partners_;
  struct Season {
    Thing animal = 0;
    std::string species;
    SeasonRecord record;
  };
  std::vector<Season> seasons_;  ///< of the animals told so far
  std::vector<AisleLine> out_;
};

struct NumberSetter {
  Value& line;
  void operator()(const char* name, const std::optional<int>& number) const { set_number(line, name, number); }
  void operator()(const char* name, int number) const {
    if (number != 0) line.set(name, static_cast<std::int64_t>(number));
  }
  void operator()(const char* name, bool flag) const {
    if (flag) line.set(name, 1);
  }
};

}  // namespace

std::vector<AisleLine> aisle_lines(Reader& reader, Instant now) {
  return Aisle(reader, now).lines();
}

std::vector<AisleLine> aisle_lines_of(Reader& reader, const std::set<Thing>& things, Instant now) {
  return Aisle(reader, now).lines_of(things);
}

std::set<Thing> told_of(Reader& reader, const std::vector<EventRow>& events) {
  LogStore& log = reader.book().log();
  std::set<Thing> out;
  const auto add_code = [&](const std::string& code) {
    if (const auto thing = code.empty() ? std::nullopt : reader.thing_of(code)) out.insert(*thing);
  };
  const auto add_accounts = [&](EventRow row) {
    auto query = reader.book().database().prepare("SELECT subject FROM account WHERE event = ?");
    query.bind(row);
    while (query.step()) out.insert(query.integer(0));
  };
  const auto add_named = [&](const Event& event) {
    for (const std::string& code : event.of) add_code(code);
    for (const std::string& code : event.shown) add_code(code);
    add_code(event.place);
  };
  for (const EventRow row : events) {
    const auto event = log.event_of(row);
    add_named(*event);
    add_accounts(row);
    for (const Answer& answer : event->re) {
      const EventRow answered = log.find(answer.event);
      if (answered == 0) continue;
      add_named(*log.event_of(answered));
      add_accounts(answered);
    }
  }
  return out;
}

Value value_of(const Limits& limits) {
  Value out = Value::Object{};
  for (const LimitInfo& one : limit_table()) {
    std::string name(one.word);
    std::replace(name.begin(), name.end(), '-', '_');
    out.set(name, static_cast<std::int64_t>(limits[one.limit]));
  }
  return out;
}

void add_facts_to(const AnimalFacts& facts, Value& line) {
  visit_numbers(facts, NumberSetter{line});
  set_text(line, "caution", facts.caution);
  set_text(line, "signs", facts.signs);
  Value::Array interval{facts.interval.least, facts.interval.most};
  if (facts.interval.rule_of_thumb) interval.push_back(1);
  line.set("interval", std::move(interval));
  if (facts.fast) line.set("fast", Value::Array{facts.fast->from, facts.fast->to, facts.fast->why});
  Value::Array courses;
  for (const Course& one : facts.courses) courses.push_back(Value::Array{one.remedy, one.day, one.repeat_days});
  if (!courses.empty()) line.set("courses", std::move(courses));
}

}  // namespace rackside::core
