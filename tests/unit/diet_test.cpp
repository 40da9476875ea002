// What an animal is fed: the keeper's settings, and which of them holds. All numbers are made up.
#include "core/husbandry/diet.h"
#include "tests/support/catch.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {

constexpr DayNumber kToday = 20'000;

Stage stage(const char* name, const char* reach, Interval interval, const char* prey = "") {
  Stage out{.name = name, .interval = interval, .prey = prey};
  const std::string text = reach;
  if (!text.empty())
    REQUIRE((text.back() == 'g' || text.find('g') != text.npos ? parse_weight_range(text, out)
                                                               : parse_age_range(text, out)));
  return out;
}

const Interval kFive{5, 7, false};
const Interval kTen{10, 14, false};

/// What it is fed; the interval asked for alone must be the same.
Diet fed(const Eater& eater, const CareSettings& settings) {
  Diet diet = diet_of(eater, settings, kToday);
  CHECK(interval_of(eater, settings, kToday) == diet.interval);
  return diet;
}

}  // namespace

TEST_CASE("ages are days, months and years of the mean year") {
  Stage one;
  REQUIRE(parse_age_range("0-6m", one));
  CHECK(one.from == 0);
  CHECK(one.to == 183);  // 6 × 365.25 / 12 = 182.6
  REQUIRE(parse_age_range("6m-2y", one));
  CHECK(one.from == 183);
  CHECK(one.to == 731);  // 730.5, rounded
  REQUIRE(parse_age_range("2y-", one));
  CHECK(one.to == 0);
  REQUIRE(parse_age_range("90-180d", one));
  CHECK(one.from == 90);
  for (const char* bad : {"", "6m", "-6m", "6w-8w", "x-6m", "0-0m", "1.55m-2m", "0-900y"})
    CHECK_FALSE(parse_age_range(bad, one));
}

TEST_CASE("weights are tenths of a gram") {
  Stage one;
  REQUIRE(parse_weight_range("0-50g", one));
  CHECK(one.to == 500);
  REQUIRE(parse_weight_range("12.5-50", one));
  CHECK(one.from == 125);
  REQUIRE(parse_weight_range("200g-", one));
  CHECK(one.to == 0);
  for (const char* bad : {"", "50g", "-50g", "a-50g", "5-1.25"}) CHECK_FALSE(parse_weight_range(bad, one));
  CHECK(parse_grams_range("50-80g") == TenthsRange{500, 800});
  CHECK(parse_grams_range("1.5-3") == TenthsRange{15, 30});
  for (const char* bad : {"", "0", "80-50", "6000", "5-", "-5", "1-2-3"}) CHECK_FALSE(parse_grams_range(bad));
  CHECK(parse_share("10-15%") == TenthsRange{100, 150});
  for (const char* bad : {"", "0", "61", "15-10", "ten"}) CHECK_FALSE(parse_share(bad));
}

TEST_CASE("an empty interval, an empty stage, an overlap and a mixed plan are named") {
  struct Case {
    FeedingPlan plan;
    const char* problem;
  };
  const Case cases[] = {
      {{stage("small", "0-50g", {7, 5, false})}, "is empty"},
      {{stage("small", "0-50g", {0, 5, false})}, "is empty"},
      {{stage("small", "50-50g", kFive)}, "holds for nobody"},
      {{stage("small", "0-50g", kFive), stage("large", "40g-", kTen)}, "overlap"},
      {{stage("small", "0-6m", kFive), stage("large", "5m-1y", kTen)}, "overlap"},
      {{stage("small", "0-6m", kFive), stage("large", "50g-", kTen)}, "by age or by weight"},
      {{stage("", "", kFive), stage("", "", kTen)}, "always"},
  };
  for (const Case& one : cases) {
    const std::string problem = problem_of(one.plan);
    INFO(problem);
    CHECK(contains(problem, one.problem));
  }
  CHECK(problem_of({stage("small", "0-50g", kFive), stage("large", "50g-", kTen), stage("", "", kTen)}).empty());
}

TEST_CASE("a plan is read back from its setting as it was written, and one with a problem is none") {
  Stage share = stage("large", "50g-", kTen);
  share.share = TenthsRange{100, 150};
  Stage two = stage("small", "0-50g", kFive, "fuzzy");
  two.count = 2;
  const FeedingPlan plan{two, share, stage("", "", {7, 7, false}, "hopper")};
  const std::string text = write_compact(value_of(plan));
  CHECK(plan_of(parse_strict(text).value) == plan);
  for (const char* bad : {"[]", "\"x\"", "{}", "[{\"least\":7,\"most\":5}]", "[{}]", "[1]"})
    CHECK_FALSE(plan_of(parse_strict(bad).value));
}

TEST_CASE("its own record comes first, then its class, then its species, then the rule of thumb") {
  CareSettings settings;
  settings.plans["corn snake"] = {stage("hatchling", "0-1y", kFive, "pinky"),
                                  stage("grown", "1y-", kTen, "adult-mouse")};
  settings.plans["breeders"] = {stage("", "", {7, 7, false})};
  Eater eater{.hatched = kToday - 100, .species = "corn snake"};
  Diet diet = fed(eater, settings);
  CHECK(diet.interval == kFive);
  CHECK(diet.prey == "pinky");
  CHECK(contains(diet.by, "hatchling"));
  eater.hatched = kToday - 1000;
  CHECK(fed(eater, settings).prey == "adult-mouse");
  eater.plan = "breeders";
  diet = fed(eater, settings);
  CHECK(diet.interval.least == 7);
  CHECK(diet.prey == "adult-mouse");  // the class says nothing of prey
  eater.every = "14";
  eater.prey = "Small rat";
  diet = fed(eater, settings);
  CHECK(diet.interval.least == 14);
  CHECK(diet.prey == "small-rat");
  CHECK(fed({.species = "a snake that nobody keeps"}, settings).interval.rule_of_thumb);
  // Without a hatch date no stage by age holds.
  CHECK(fed({.species = "corn snake"}, settings).interval.rule_of_thumb);
}

TEST_CASE("stages meet without a gap: the day, or the tenth of a gram, belongs to the later one") {
  CareSettings settings;
  settings.plans["s"] = {stage("small", "0-50g", kFive), stage("large", "50g-", kTen)};
  const auto least = [&](int tenths) { return fed({.grams_tenths = tenths, .species = "s"}, settings).interval.least; };
  CHECK(least(499) == 5);
  CHECK(least(500) == 10);
  settings.plans["s"] = {stage("young", "0-30d", kFive), stage("old", "30d-", kTen)};
  const auto of_age = [&](int days) {
    return fed({.hatched = kToday - days, .species = "s"}, settings).interval.least;
  };
  CHECK(of_age(29) == 5);
  CHECK(of_age(30) == 10);
}

TEST_CASE("a share of body weight chooses the prey whose weight lies nearest, and two only where none fits alone") {
  CareSettings settings;
  settings.preys = {{"fuzzy", {30, 70}}, {"hopper", {70, 130}}, {"adult-mouse", {200, 300}}};
  Stage one = stage("", "", kFive);
  one.share = TenthsRange{100, 150};  // 10 to 15 %
  settings.plans["s"] = {one};
  const auto meal = [&](int tenths) { return meal_text(fed({.grams_tenths = tenths, .species = "s"}, settings)); };
  CHECK(meal(800) == "hopper (about 8–12 g)");
  CHECK(meal(1200) == "hopper (about 12–18 g)");
  CHECK(meal(2000) == "adult-mouse (about 20–30 g)");
  CHECK(meal(5000) == "2 × adult-mouse (about 50–75 g)");
  CHECK(meal(20000) == "about 200–300 g");
  CHECK(meal(0).empty());
}

TEST_CASE("fasts are read back as written; an empty one, or one without a reason of the list, is none") {
  const Fast fast{20'000, 20'090, "cooling"};
  CHECK(parse_fast(text_of(fast)) == fast);
  for (const char* bad : {"", "2026-12-01", "2026-12-01 2026-11-30 cooling", "2026-12-01 2027-01-01 ",
                          "2026-12-01 2027-01-01 hunger", "2026-12-01 2027-13-01 cooling"})
    CHECK_FALSE(parse_fast(bad));
}
