#include "core/read/today.h"

#include <algorithm>

namespace rackside::core {
namespace {

constexpr Instant kRecent = 60 * kDay;
constexpr int kOpaqueLasts =
    21;  ///< the whole shed takes 7 to 14 days (a veterinary article); then it is overdue, not opaque
constexpr int kNightsRead = 10;
constexpr Instant kDayTurns = 7 * kHour;  ///< before noon: from five in the morning on, people plan the coming evening

/// The feeding night that people mean by "tonight".
DayNumber evening(const FoldSettings& settings, Instant now) {
  return night_of(settings.zone, settings.night_start_minute, now + kDayTurns).number;
}

std::optional<DayNumber> hatched_day(const std::string& text) {
  std::string whole = text;
  if (whole.size() == 4) whole += "-07";
  if (whole.size() == 7) whole += "-01";
  DayNumber day = 0;
  return parse_date(whole, day) ? std::optional(day) : std::nullopt;
}

void read_nights(Reader& reader, Thing animal, AnimalFacts& facts) {
  for (const NightOutcome& night : reader.nights(animal, kNightsRead)) {
    const bool newest = !facts.last_meal && facts.refusals == 0 && !facts.check_tub && !facts.open_offer;
    if (night.offer_open && newest) facts.open_offer = night.night.number;
    if (night.outcome == "check-tub" && newest) facts.check_tub = night.night.number;
    if (night.outcome == "refused" && !facts.last_meal) {
      ++facts.refusals;
      if (!facts.last_refusal) facts.last_refusal = night.night.number;
    }
    if (night.outcome == "ate" && !facts.last_meal) {
      facts.last_meal = night.night.number;
      facts.servings = static_cast<int>(night.amount);
      facts.caution = night.caution;
      if (!night.caution.empty()) facts.caution_night = night.night.number;
    }
  }
}

void read_signs(Reader& reader, Thing animal, Instant now, AnimalFacts& facts) {
  const Zone& zone = reader.settings().zone;
  std::optional<Instant> shed;
  auto query =
      reader.book().database().prepare("SELECT kind, at FROM account WHERE subject = ? AND at >= ? ORDER BY at DESC");
  query.bind(animal, now - kRecent);
  while (query.step()) {
    const Kind kind = static_cast<Kind>(query.integer(0));
    const Instant at = query.integer(1);
    if (kind == Kind::shed && !shed) shed = at;
    if (kind == Kind::opaque && !facts.opaque && !shed && zone.day_of(now) - zone.day_of(at) <= kOpaqueLasts)
      facts.opaque = zone.day_of(at);
    const bool ate_since = facts.last_meal && *facts.last_meal > zone.day_of(at);
    if (kind == Kind::regurgitated && !facts.regurgitated && !ate_since) facts.regurgitated = zone.day_of(at);
  }
}

void add_company(Reader& reader, Thing animal, Instant now, std::vector<DueLine>& out) {
  const Zone& zone = reader.settings().zone;
  for (const Lodging& lodging : reader.lodgings_of(animal, now)) {
    if (lodging.role != Stay::Role::visiting) continue;
    const int days = zone.day_of(now) - zone.day_of(lodging.since);
    const std::string with = lodging.partner ? reader.label(*lodging.partner) : "another";
    out.push_back(
        {Due::separate, days,
         "with " + with + " since " + (days == 0 ? "today" : std::to_string(days) + (days == 1 ? " day" : " days"))});
  }
}

/// Animals that stand in two places by two accounts, and those they may be with: each tub is to be checked.
std::map<Thing, DueLine> doubtful_places(Reader& reader) {
  std::map<Thing, DueLine> out;
  for (const Question& question : reader.questions()) {
    if (question.rule != RuleId::whereabouts && question.rule != RuleId::pairing) continue;
    out[question.subject] = {Due::check_tub, 0, "in two places by two accounts: find it"};
    for (const EventRef& member : question.members) {
      const auto event = reader.line(member).event;
      for (const std::string& code : event->of) {
        const auto other = reader.thing_of(code);
        if (event->kind != Kind::paired || !other || *other == question.subject) continue;
        out.try_emplace(*other, DueLine{Due::check_tub, 0,
                                        reader.label(question.subject) + " may be with it: look, and separate them"});
      }
    }
  }
  return out;
}

TodayRack& rack_for(std::vector<TodayRack>& racks, const std::optional<Thing>& rack) {
  for (TodayRack& one : racks) {
    if (one.rack && rack && one.rack->thing == *rack) return one;
    if (!one.rack && !rack) return one;
  }
  return racks.back();
}

}  // namespace

std::size_t Today::count(Due due) const {
  std::size_t number = 0;
  for (const TodayRack& rack : racks) {
    number += static_cast<std::size_t>(std::count_if(rack.lines.begin(), rack.lines.end(),
                                                     [&](const TodayLine& line) { return line.due.due == due; }));
  }
  return number;
}

AnimalFacts facts_of(Reader& reader, Thing animal, Instant now) {
  AnimalFacts facts;
  read_nights(reader, animal, facts);
  read_signs(reader, animal, now, facts);
  const Zone& zone = reader.settings().zone;
  if (const auto source = reader.field_source(animal, "registered"))
    facts.registered = zone.day_of(reader.line(*source).at);
  const auto own = parse_interval(reader.field(animal, "every"));
  facts.interval = own ? *own : usual_interval(hatched_day(reader.field(animal, "hatched")), zone.day_of(now));
  return facts;
}

std::vector<DueLine> due_at_tub(Reader& reader, Thing animal, Instant now) {
  std::vector<DueLine> out = due_for(facts_of(reader, animal, now), evening(reader.settings(), now));
  add_company(reader, animal, now, out);
  return out;
}

Today today_list(Reader& reader, Instant now) {
  Today today{.night = evening(reader.settings(), now)};
  for (const Named& rack : reader.racks())
    today.racks.push_back({rack, reader.field(rack.thing, "quarantine") == "yes", {}});
  today.racks.push_back({});
  const std::map<Thing, DueLine> doubtful = doubtful_places(reader);
  std::map<Thing, std::int64_t> order;
  for (const Named& animal : reader.all("animal")) {
    const auto lodgings = reader.lodgings_of(animal.thing, now);
    if (lodgings.empty() && !reader.lives_here(animal.thing)) continue;
    ++today.animals;
    const std::optional<Thing> place = lodgings.empty() ? std::nullopt : std::optional(lodgings.front().place);
    TodayRack& rack = rack_for(today.racks, place ? reader.rack_of(*place) : std::nullopt);
    if (place) order[*place] = std::atoll(reader.field(*place, "position").c_str());
    std::vector<DueLine> lines = due_at_tub(reader, animal.thing, now);
    if (doubtful.contains(animal.thing)) lines.insert(lines.begin(), doubtful.at(animal.thing));
    if (place && reader.found_at(*place, now).size() > 1 && lodgings.front().role == Stay::Role::home) {
      bool visited = false;
      for (const Lodging& other : reader.found_at(*place, now)) visited = visited || other.role == Stay::Role::visiting;
      if (!visited)
        lines.insert(lines.begin(), {Due::two_in_tub, 0, "two animals in one tub that were not paired: look at once"});
    }
    for (DueLine& line : lines) {
      rack.lines.push_back({animal, place ? std::optional(reader.named(*place)) : std::nullopt, std::move(line),
                            reader.field(animal.thing, "prey")});
    }
  }
  for (TodayRack& rack : today.racks) {
    std::stable_sort(rack.lines.begin(), rack.lines.end(), [&](const TodayLine& a, const TodayLine& b) {
      return (a.place ? order[a.place->thing] : 0) < (b.place ? order[b.place->thing] : 0);
    });
  }
  std::erase_if(today.racks, [](const TodayRack& rack) { return rack.lines.empty() && !rack.rack; });
  return today;
}

}  // namespace rackside::core
