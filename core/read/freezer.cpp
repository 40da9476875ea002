#include "core/read/freezer.h"

#include <algorithm>
#include <set>

namespace rackside::core {
namespace {

/// How soon an animal must be due to take a leftover before its time.
constexpr int kNightsEarly = 2;

std::map<std::string, std::vector<FreezerEntry>> entries_of(Reader& reader) {
  std::map<std::string, std::vector<FreezerEntry>> out;
  auto query = reader.book().database().prepare(
      "SELECT event.id, event.at FROM administration JOIN event ON event.id = administration.event WHERE kind = ? AND "
      "event.mark & ? <> 0 ORDER BY event.at, event.id");
  query.bind(static_cast<int>(Kind::stocked), kRead);
  while (query.step()) {
    const auto event = reader.book().log().event_of(query.integer(0));
    const auto count = std::clamp<std::int64_t>(event->own.number("count"), -1'000'000, 1'000'000);
    out[std::string(event->own.text("prey"))].push_back(
        {query.integer(1), static_cast<int>(count), event->own.flag("counted")});
  }
  return out;
}

/// What one animal's meals took from the freezer, by prey.
class UseReader {
 public:
  UseReader(Reader& reader, Instant since) : reader_(reader), since_(since) {}

  void read(Thing animal, const Diet& diet) {
    std::map<std::pair<DayNumber, std::string>, Night> nights;
    auto query = reader_.book().database().prepare(
        "SELECT event, kind, at FROM account WHERE subject = ? AND at >= ? ORDER BY at, event");
    query.bind(animal, since_);
    while (query.step()) {
      const Kind kind = static_cast<Kind>(query.integer(1));
      // A scan of a tub with two in it is one event of both.
      if ((kind != Kind::fed && kind != Kind::offered) || !seen_.insert(query.integer(0)).second) continue;
      take(*reader_.book().log().event_of(query.integer(0)), kind, query.integer(2), diet, nights);
    }
    for (const auto& [key, night] : nights) uses[key.second].push_back({night.at, std::max(night.fed, night.offered)});
  }

  std::map<std::string, std::vector<FreezerUse>> uses;

 private:
  struct Night {
    Instant at = 0;
    int fed = 0;
    int offered = 0;
  };

  void take(const Event& event, Kind kind, Instant at, const Diet& diet,
            std::map<std::pair<DayNumber, std::string>, Night>& nights) {
    const DayNumber number = night_of(reader_.settings().zone, reader_.settings().night_start_minute, at).number;
    const auto add = [&](const std::string& prey, std::int64_t count) {
      if (prey.empty()) return;
      Night& night = nights[{number, prey}];
      night.at = at;
      (kind == Kind::fed ? night.fed : night.offered) += static_cast<int>(std::clamp<std::int64_t>(count, 1, 99));
    };
    const Value* items = event.own.find("items");
    if (!items || !items->as_array()) return add(diet.prey, diet.count);
    for (const Value& item : *items->as_array()) {
      const std::string_view state = item.text("state");
      if (state == "live" || state == "fresh") continue;
      add(item.text("prey").empty() ? diet.prey : std::string(item.text("prey")), item.number("count", 1));
    }
  }

  Reader& reader_;
  Instant since_;
  std::set<EventRow> seen_;
};

std::string left_out_word(Meal state) {
  switch (state) {
    case Meal::waits:
      return "food is with it";
    case Meal::contradicted:
      return "tub to check";
    case Meal::opaque:
      return "opaque";
    case Meal::rests:
      return "rests after a regurgitation";
    case Meal::fasts:
      return "fasts on purpose";
    case Meal::gravid:
      return "gravid, not fed";
    default:
      return {};
  }
}

bool gets(const Diet& diet, const std::string& prey, const CareSettings& settings) {
  if (diet.prey == prey) return true;
  const auto grams = settings.preys.find(prey);
  return diet.grams && grams != settings.preys.end() && grams->second.most >= diet.grams->least &&
         grams->second.least <= diet.grams->most;
}

}  // namespace

std::map<std::string, Stock> freezer(Reader& reader, const CareSettings& settings, Instant now) {
  auto entries = entries_of(reader);
  Instant since = now - kDaysOfUse * kDay;
  for (const auto& [prey, all] : entries) {
    Instant begin = all.front().at;
    for (const FreezerEntry& one : all)
      if (one.counted) begin = one.at;
    since = std::min(since, begin);
  }
  UseReader meals(reader, since);
  for (const BoardRow& row : due_board(reader, settings, now))
    meals.read(row.animal, diet_on(row, settings, reader.settings().zone.day_of(now)));
  std::map<std::string, Stock> out;
  for (const auto& [prey, all] : entries) out[prey] = stock_of(all, meals.uses[prey], now);
  for (const auto& [prey, all] : meals.uses)
    if (!out.contains(prey)) out[prey] = stock_of({}, all, now);
  return out;
}

ThawPlan thaw_plan(Reader& reader, const CareSettings& settings, Instant now, int ahead) {
  const Moment tonight = moment_of(reader.settings(), now);
  const Moment then{tonight.tonight + ahead, tonight.today + ahead, now + ahead * kDay};
  ThawPlan out{.night = then.tonight};
  const std::vector<BoardRow> board = due_board(reader, settings, now);
  const Whereabouts whereabouts(reader, now);
  std::map<std::string, int> wanted;
  for (const BoardRow& row : board) {
    const auto lodgings = whereabouts.of(row.animal);
    if (lodgings.empty() && !reader.lives_here(row.animal)) continue;
    const AnimalFacts facts = facts_on(row, settings, then.today);
    const Meal state = meal_state(facts, settings.limits, then).state;
    if (!is_to_be_fed(state)) {
      // Only those who would be due, were it not for that.
      const bool would = !facts.last_meal || then.tonight - *facts.last_meal >= facts.interval.least;
      if (const std::string word = left_out_word(state); would && !word.empty()) ++out.left_out[word];
      continue;
    }
    if (!lodgings.empty() && lodgings.front().role == Stay::Role::visiting) {
      ++out.left_out["with another: separate first"];
      continue;
    }
    ++out.to_feed;
    if (is_to_be_fed(meal_state(facts_on(row, settings, tonight.today), settings.limits, tonight).state))
      ++out.tonight_already;
    const Diet diet = diet_on(row, settings, then.today);
    if (diet.prey.empty()) {
      ++out.unknown;
    } else {
      wanted[diet.prey] += diet.count;
    }
  }
  out.items = thaw_list(wanted, settings.limits[Limit::thaw_margin_percent]);
  return out;
}

std::vector<Taker> takers_of(Reader& reader, const CareSettings& settings, Instant now, const std::string& prey,
                             std::size_t count) {
  const Moment moment = moment_of(reader.settings(), now);
  const std::vector<BoardRow> board = due_board(reader, settings, now);
  const Whereabouts whereabouts(reader, now);
  const RackMap racks(reader);
  std::map<Thing, std::pair<std::size_t, std::string>> walk;
  for (const Named& rack : reader.racks()) {
    if (reader.field(rack.thing, "quarantine") != "yes") walk[rack.thing] = {walk.size(), rack.label};
  }
  struct Ranked {
    std::size_t rack = 0;
    std::int64_t position = 0;
    bool early = false;
    Taker taker;
  };
  std::vector<Ranked> all;
  for (const BoardRow& row : board) {
    const auto lodgings = whereabouts.of(row.animal);
    if (lodgings.size() != 1 || lodgings.front().role != Stay::Role::home) continue;
    const auto rack = racks.rack_of(lodgings.front().place);
    if (!rack || !walk.contains(*rack)) continue;
    const AnimalFacts facts = facts_on(row, settings, moment.today);
    if (facts.last_meal == moment.tonight || facts.last_refusal == moment.tonight || facts.ill) continue;
    const MealState meal = meal_state(facts, settings.limits, moment);
    const bool early = meal.state == Meal::early && meal.days <= kNightsEarly;
    if (!(is_to_be_fed(meal.state) || early) || !gets(diet_on(row, settings, moment.today), prey, settings)) continue;
    const Thing place = lodgings.front().place;
    all.push_back({walk[*rack].first,
                   racks.position_of(place),
                   early,
                   {reader.named(row.animal), reader.named(place), walk[*rack].second, meal}});
  }
  const auto in_walk = [](const Ranked& a, const Ranked& b) {
    return std::pair(a.rack, a.position) < std::pair(b.rack, b.position);
  };
  std::stable_sort(all.begin(), all.end(), in_walk);
  std::stable_partition(all.begin(), all.end(), [](const Ranked& one) { return !one.early; });
  if (all.size() > count) all.resize(count);
  std::stable_sort(all.begin(), all.end(), in_walk);
  std::vector<Taker> out;
  for (Ranked& one : all) out.push_back(std::move(one.taker));
  return out;
}

}  // namespace rackside::core
