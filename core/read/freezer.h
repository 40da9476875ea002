#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/husbandry/freezer.h"
#include "core/read/today.h"

// The freezer by what the book holds: deliveries and counts (`stocked`), and the meals of all animals.
namespace rackside::core {

/// By prey. Meals count by what was said; where nothing was said, by what the animal is fed today. What was live or
/// fresh came from elsewhere. Of offers and meals of one night and prey, the larger number.
std::map<std::string, Stock> freezer(Reader& reader, const CareSettings& settings, Instant now);

/// What to thaw for a night.
struct ThawPlan {
  DayNumber night = 0;
  std::vector<ThawItem> items;
  int to_feed = 0;
  int tonight_already = 0;              ///< of those: due tonight too, so fewer where they eat tonight
  int unknown = 0;                      ///< to be fed, but nobody said with what
  std::map<std::string, int> left_out;  ///< who will not eat: "opaque", "fasting" …
};
/// `ahead`: nights from tonight.
ThawPlan thaw_plan(Reader& reader, const CareSettings& settings, Instant now, int ahead);

/// Who could take a prey that is left tonight.
struct Taker {
  Named animal;
  std::optional<Named> place;
  std::string rack;
  MealState meal;
};
/// In walking order, at most `count`: who is to be fed tonight and gets that prey (or its weight), and where these are
/// too few, who will be due within two nights. Nobody who ate or refused this night, nobody in quarantine.
std::vector<Taker> takers_of(Reader& reader, const CareSettings& settings, Instant now, const std::string& prey,
                             std::size_t count);

}  // namespace rackside::core
