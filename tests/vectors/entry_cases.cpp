// Random scans and entries and what the program warns of: one JSON line each, for the page's twin to say the same. The
// first line lists the kinds that can be entered, and temperatures in both scales.
//   entry_cases COUNT SEED
#include <array>
#include <cstdio>
#include <cstdlib>

#include "core/entry/aisle.h"
#include "core/entry/warnings.h"
#include "core/husbandry/diet.h"
#include "tests/vectors/made_up.h"

using namespace rackside::core;
using rackside::test::kMadeUpNight;

namespace {

constexpr Instant kNow = kMadeUpNight * kDay + 20 * kHour;
constexpr int kNoon = 720;
constexpr std::array kSeenKinds = {Kind::fed,  Kind::ate,     Kind::refused, Kind::leftover,
                                   Kind::laid, Kind::treated, Kind::shed,    Kind::regurgitated};
constexpr std::array kAboutSex = {"male", "female", "unknown", ""};
constexpr std::array kHatched = {"", "2024-09-15", "2024-09-25", "2024-05", "2019"};

class Cases {
 public:
  explicit Cases(unsigned seed) : any_(seed) {}

  std::string next() {
    scene_ = {.at = kNow};
    animals_ = Value::Array{};
    scene_.night = night_of(Zone{}, kNoon, kNow);
    scene_.day = Zone{}.day_of(kNow);
    scene_.moment = {scene_.night.number, scene_.day, kNow};
    scene_.limits = any_.limits();
    make_scene();
    const Entry entry = some_entry();
    std::vector<const Resident*> told;
    for (const Resident& one : scene_.found) told.push_back(&one);
    std::vector<std::string> warnings;
    std::vector<std::string> notices;
    warn_of(scene_, entry, told, warnings, notices);
    return write_compact(Value::Object{{"limits", value_of(scene_.limits)},
                                       {"scene", scene_value()},
                                       {"animals", std::move(animals_)},
                                       {"entry", entry_value(entry)},
                                       {"warnings", texts(warnings)},
                                       {"notices", texts(notices)}});
  }

 private:
  static Value texts(const std::vector<std::string>& all) {
    Value::Array out;
    for (const std::string& one : all) out.push_back(one);
    return out;
  }

  /// A card, a tub with nobody, one or two in it, or a code that the book does not know.
  void make_scene() {
    scene_.known = !any_.now_and_then(12);
    scene_.is_place = any_.now_and_then(2);
    scene_.scanned = {1000, scene_.is_place ? "TAAAAAAAAA" : "A0", scene_.is_place ? "place" : "animal", "A-01"};
    scene_.code = scene_.scanned.code;
    if (any_.now_and_then(8)) scene_.quarantine_before = "Q-07";
    if (!scene_.known && scene_.is_place) return;
    const int count = scene_.is_place ? any_.below(3) : 1;
    for (int i = 0; i < count; ++i) add_resident(i);
    if (count == 1 && scene_.known && any_.now_and_then(5)) add_guest(scene_.found.front());
  }

  void add_resident(int i) {
    const Thing thing = 10 + i;
    Resident one{.animal = {thing, "A" + std::to_string(i), "animal", "C-" + std::to_string(i + 1)}};
    one.code = one.animal.code;
    Value line = Value::Object{{"t", "animal"}, {"id", one.code}, {"label", one.animal.label}};
    if (scene_.known) fill(one, line);
    animals_.as_array()->push_back(line);
    scene_.found.push_back(std::move(one));
  }

  void fill(Resident& one, Value& line) {
    one.sex = kAboutSex[static_cast<std::size_t>(any_.below(4))];
    if (!one.sex.empty()) line.set("sex", one.sex);
    one.facts = any_.facts();
    add_facts_to(one.facts, line);
    fill_lodgings(one, line);
    fill_seen(one, line);
    if (one.facts.caution_night) {
      one.last_night = NightOutcome{};
      one.last_night->night.number = *one.facts.caution_night;
      one.last_night->caution = one.facts.caution;
    }
    if (any_.now_and_then(9)) {
      one.gone = Seen{{}, any_.now_and_then(2) ? Kind::died : Kind::left, kNow - kDay};
      line.set("gone", Value::Array{std::string(word_of(one.gone->kind)), one.gone->at});
    }
    if (any_.now_and_then(9)) one.sold = true, line.set("sold", 1);
    if (any_.now_and_then(6))
      one.dose_in_doubt = kNow - any_.below(7) * kDay, line.set("dose_in_doubt", *one.dose_in_doubt);
    if (any_.now_and_then(2))
      one.last_grams_tenths = any_.below(9000), line.set("grams_tenths", *one.last_grams_tenths);
    const std::string hatched = kHatched[static_cast<std::size_t>(any_.below(5))];
    one.hatched = hatched_day(hatched);
    if (!hatched.empty()) line.set("hatched", hatched);
  }

  /// At home, or on a visit to somebody elsewhere.
  void fill_lodgings(Resident& one, Value& line) {
    const bool visits = any_.now_and_then(6);
    if (visits) {
      one.lodgings.push_back({.animal = one.animal.thing, .place = 2000, .role = Stay::Role::visiting, .partner = 99});
      one.company = Company{{99, "AH", "animal", "H-1"}, {}, false};
      line.set("visit", Value::Array{"TVVVVVVVVV", "", kNow - kDay, "AH"});
    }
    one.lodgings.push_back({.animal = one.animal.thing, .place = 1000, .role = Stay::Role::home});
    line.set("home", Value::Array{"TAAAAAAAAA", "", kNow - 100 * kDay});
  }

  /// Another that visits it at home, and is not in view.
  void add_guest(Resident& host) {
    if (host.visit()) return;
    host.company = Company{{98, "AG", "animal", "G-1"}, {}, true};
    animals_.as_array()->push_back(Value::Object{{"t", "animal"},
                                                 {"id", "AG"},
                                                 {"label", "G-1"},
                                                 {"visit", Value::Array{"TAAAAAAAAA", "", kNow - kDay, host.code}}});
  }

  void fill_seen(Resident& one, Value& line) {
    Value::Array seen;
    Instant at = kNow;
    for (int i = any_.below(6); i > 0; --i) {
      at -= any_.below(any_.now_and_then(3) ? 400 : 20) * kHour + any_.below(60) * kMinute;
      const Kind kind = kSeenKinds[static_cast<std::size_t>(any_.below(static_cast<int>(kSeenKinds.size())))];
      one.recent.push_back({{}, kind, at});
      seen.push_back(Value::Array{std::string(word_of(kind)), at, ""});
    }
    line.set("seen", std::move(seen));
  }

  Entry some_entry() {
    const auto forms = entry_forms();
    Entry entry{.kind = forms[static_cast<std::size_t>(any_.below(static_cast<int>(forms.size())))].kind};
    if (any_.now_and_then(3))
      entry.kind = kOften[static_cast<std::size_t>(any_.below(static_cast<int>(kOften.size())))];
    if (entry.kind == Kind::weighed)
      entry.own = Value::Object{{"grams_tenths", any_.below(any_.now_and_then(3) ? 90'000 : 9000)}};
    if (any_.now_and_then(8)) entry.relation = Relation::replaces;
    return entry;
  }

  static Value entry_value(const Entry& entry) {
    Value out = Value::Object{{"kind", std::string(word_of(entry.kind))}};
    if (entry.own.as_object()) out.set("own", entry.own);
    if (entry.relation) out.set("relation", std::string(word_of(*entry.relation)));
    return out;
  }

  Value scene_value() const {
    Value::Array found;
    for (const Resident& one : scene_.found) found.push_back(one.code);
    return Value::Object{{"code", scene_.code},           {"is_place", scene_.is_place ? 1 : 0},
                         {"known", scene_.known ? 1 : 0}, {"at", scene_.at},
                         {"found", std::move(found)},     {"quarantine_before", scene_.quarantine_before}};
  }

  static constexpr std::array kOften = {Kind::fed, Kind::offered, Kind::weighed, Kind::paired, Kind::sold, Kind::laid};

  rackside::test::MadeUp any_;
  Scene scene_;
  Value animals_;
};

/// Temperatures as typed in Fahrenheit, and what the log keeps: [tenths of °F, tenths of °C].
Value temperatures() {
  Value::Array out;
  for (int tenths = 320; tenths < 1300; tenths += 7) {
    const std::string text = std::to_string(tenths / 10) + "." + std::to_string(tenths % 10) + "F";
    const EntryReading reading = parse_entry("incubated " + text);
    if (reading.entry) out.push_back(Value::Array{tenths, reading.entry->own.number("celsius_tenths")});
  }
  return out;
}

Value forms() {
  Value::Array out;
  for (const EntryForm& form : entry_forms()) out.push_back(std::string(word_of(form.kind)));
  return Value::Object{{"forms", std::move(out)}, {"temperatures", temperatures()}};
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) return 2;
  std::puts(write_compact(forms()).c_str());
  Cases cases(static_cast<unsigned>(std::atoi(argv[2])));
  for (int i = std::atoi(argv[1]); i > 0; --i) std::puts(cases.next().c_str());
}
