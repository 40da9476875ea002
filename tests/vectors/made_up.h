#pragma once

#include <optional>
#include <random>

#include "core/husbandry/facts.h"
#include "core/husbandry/limits.h"

// Made-up facts of animals, for what is said twice: by the program and by the page.
namespace rackside::test {

constexpr core::DayNumber kMadeUpNight = 20'000;

class MadeUp {
 public:
  explicit MadeUp(unsigned seed) : random_(seed) {}

  int below(int n) { return static_cast<int>(random_() % static_cast<unsigned>(n)); }
  bool now_and_then(int of) { return below(of) == 0; }
  /// A day at most so long ago; mostly none.
  std::optional<core::DayNumber> day(int longest, int of = 3) {
    return now_and_then(of) ? std::optional(kMadeUpNight - below(longest)) : std::nullopt;
  }

  core::AnimalFacts facts() {
    using namespace core;
    AnimalFacts facts;
    facts.last_meal = day(30, 1);
    if (now_and_then(9)) facts.last_meal.reset();
    if (facts.last_meal) facts.meal_minute = static_cast<int>((*facts.last_meal * kDay + below(24) * kHour) / kMinute);
    facts.refusals = below(8);
    if (now_and_then(3)) facts.usual_refusals = below(7);
    facts.never_refuses = now_and_then(4);
    facts.open_offer = day(3, 6);
    facts.check_tub = day(3, 9);
    facts.caution_night = day(5, 4);
    if (facts.caution_night) facts.caution = now_and_then(2) ? "perhaps-fed-twice" : "fed-twice";
    facts.regurgitated = day(14, 5);
    facts.opaque = day(110, 5);
    facts.shed = day(120, 2);
    if (now_and_then(2)) facts.shed_usual = 20 + below(40), facts.shed_latest = 40 + below(60);
    facts.stuck = day(40, 6);
    facts.unsure_look = day(60, 4);
    facts.weighed = day(140, 2);
    facts.grams_tenths = below(5000);
    facts.peak_tenths = below(5000);
    facts.peak_day = day(200, 2);
    facts.week_tenths = below(20) - 12;
    facts.gravid = day(140, 4);
    facts.laid = day(140, 5);
    facts.ill = day(30, 6);
    facts.seen = day(40, 1);
    facts.registered = day(400, 1);
    if (now_and_then(4))
      facts.fast = Fast{kMadeUpNight - below(100), 0, "cooling"}, facts.fast->to = facts.fast->from + below(120);
    for (int i = below(3); i > 0; --i)
      facts.courses.push_back({"remedy", kMadeUpNight - below(90), below(2) * below(30)});
    facts.interval.least = 1 + below(14);
    facts.interval.most = facts.interval.least + below(8);
    facts.interval.rule_of_thumb = now_and_then(2);
    return facts;
  }

  core::Limits limits() {
    using namespace core;
    Limits limits;
    for (const LimitInfo& one : limit_table()) {
      if (now_and_then(4)) limits.set(one.limit, one.least + below(one.most - one.least + 1));
    }
    return limits;
  }

 private:
  std::mt19937 random_;
};

}  // namespace rackside::test
