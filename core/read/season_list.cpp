#include "core/read/season_list.h"

#include <algorithm>

#include "core/genetics/catalogue.h"

namespace rackside::core {
namespace {

/// A female without a word of breeding for so long has nothing to expect.
constexpr int kSeasonDays = 500;

struct Female {
  Named named;
  std::string species;
  std::vector<SeasonFact> facts;
};

std::vector<Female> females(Reader& reader) {
  std::vector<Female> out;
  for (const Named& animal : reader.all("animal")) {
    if (reader.field(animal.thing, "sex") == "male") continue;
    Female one{animal, genetics::plain_name(reader.field(animal.thing, "species")),
               facts_of_season(reader, animal.thing)};
    if (!one.species.empty() && !one.facts.empty()) out.push_back(std::move(one));
  }
  return out;
}

}  // namespace

bool tells_of_season(Kind kind) {
  switch (kind) {
    case Kind::paired:
    case Kind::locked:
    case Kind::ovulated:
    case Kind::palpated:
    case Kind::gravid:
    case Kind::shed:
    case Kind::laid:
    case Kind::hatched:
      return true;
    default:
      return false;
  }
}

std::vector<SeasonFact> facts_of_season(Reader& reader, Thing animal) {
  std::vector<SeasonFact> out;
  const Zone& zone = reader.settings().zone;
  auto query = reader.book().database().prepare("SELECT at, kind FROM account WHERE subject = ? ORDER BY at, event");
  query.bind(animal);
  while (query.step()) {
    const Kind kind = static_cast<Kind>(query.integer(1));
    if (tells_of_season(kind)) out.push_back({zone.day_of(query.integer(0)), kind});
  }
  return out;
}

std::string season_setting(std::string_view species, Step step) {
  return "season/" + genetics::plain_name(species) + "/" + std::string(info_of(step).word);
}

SeasonRules season_rules(Reader& reader, const std::string& species) {
  SeasonRules out = usual_season(genetics::plain_name(species));
  for (const StepInfo& step : step_table()) {
    const Value value = parse_strict(reader.setting(season_setting(species, step.step))).value;
    if (!value.as_string()) continue;
    if (const auto rule = parse_days(*value.as_string())) {
      out[step.step] = *rule;
    } else if (value.as_string()->empty()) {
      out.erase(step.step);  // the keeper wants nothing shown
    }
  }
  return out;
}

std::vector<CalendarLine> season_list(Reader& reader, Instant now) {
  const DayNumber today = reader.settings().zone.day_of(now);
  const std::vector<Female> all = females(reader);
  std::map<std::string, SeasonRules> rules;
  std::map<std::string, PastDays> own;
  for (const Female& one : all) {
    if (!rules.contains(one.species)) rules[one.species] = season_rules(reader, one.species);
    add_past(season_record(one.facts).past, rules[one.species], own[one.species]);
  }
  std::map<std::string, StepWindows> windows;
  for (const auto& [species, days] : own) windows[species] = windows_of(rules[species], days);
  std::vector<CalendarLine> out;
  for (const Female& one : all) {
    if (one.facts.back().day < today - kSeasonDays || !reader.lives_here(one.named.thing)) continue;
    const auto lodgings = reader.lodgings_of(one.named.thing, now);
    const auto place = lodgings.empty() ? std::nullopt : std::optional(reader.named(lodgings.front().place));
    for (const Expected& expected : expected_of(one.facts, windows[one.species], today))
      out.push_back({one.named, place, expected});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const auto& a, const auto& b) { return a.expected.first < b.expected.first; });
  return out;
}

}  // namespace rackside::core
