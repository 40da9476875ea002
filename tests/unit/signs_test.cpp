// Signs against an animal's own past. Trends and smoothed values were computed a second time in python3, with the
// statistics module's median and nothing of this program: running medians of three with Tukey's end rule, Theil and
// Sen's slope over all pairs, halves rounded away from zero.
#include "core/husbandry/signs.h"

#include "tests/support/catch.h"

using namespace rackside::core;
using namespace rackside::tests;

TEST_CASE("nine of ten, by the nearest rank") {
  CHECK(nine_of_ten({}) == 0);
  CHECK(nine_of_ten({4}) == 4);
  CHECK(nine_of_ten({1, 2, 3, 4, 5, 6, 7, 8, 9, 10}) == 9);
  CHECK(nine_of_ten({10, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1}) == 1);  // ten of eleven
  CHECK(nine_of_ten({5, 1, 1, 1}) == 5);
}

TEST_CASE("a habit of refusing is known after four runs, and one of eating after twenty meals") {
  const auto nights = [](const std::string& text) {
    std::vector<bool> out;
    for (const char c : text) out.push_back(c == 'a');
    return out;
  };
  RefusalHabit habit = refusal_habit(nights("arararrarrrrraaarrr"));
  CHECK(habit.runs == std::vector<int>{1, 1, 2, 5});
  CHECK(habit.meals == 7);
  CHECK(usual_refusals(habit) == 5);
  CHECK_FALSE(never_refuses(habit));
  CHECK_FALSE(usual_refusals(refusal_habit(nights("arararra"))));
  CHECK(never_refuses(refusal_habit(nights("aaaaaaaaaaaaaaaaaaaraarr"))));
  CHECK_FALSE(never_refuses(refusal_habit(nights("aaaaaaaaaaaaaaaaaaarra"))));
  CHECK_FALSE(never_refuses(refusal_habit(nights("aaaaaaaaaaaaaaaaaaa"))));
}

TEST_CASE("a shed is late beyond its habit by three scaled deviations, and by two weeks at least") {
  CHECK_FALSE(shed_habit(std::vector<DayNumber>{0, 40, 80, 120, 160}));
  auto habit = shed_habit(std::vector<DayNumber>{0, 40, 80, 120, 160, 200});
  REQUIRE(habit);
  CHECK(habit->usual == 40);
  CHECK(habit->latest == 54);
  // Intervals 30, 40, 50, 60, 70: median 50, deviations 20, 10, 0, 10, 20, their median 10: 50 + 3 × 14.826 = 94.5.
  habit = shed_habit(std::vector<DayNumber>{0, 30, 70, 120, 180, 250});
  REQUIRE(habit);
  CHECK(habit->usual == 50);
  CHECK(habit->latest == 95);
  // One long cooling among them moves nothing.
  habit = shed_habit(std::vector<DayNumber>{0, 40, 80, 120, 160, 360});
  CHECK(habit->latest == 54);
}

TEST_CASE("running medians of three with Tukey's ends") {
  struct Case {
    std::vector<int> values, smooth;
  };
  const Case cases[] = {
      {{3, 1, 4, 1, 5, 9, 2, 6}, {3, 3, 1, 4, 5, 5, 6, 6}},
      {{10, 20}, {10, 20}},
      {{5, 5, 1, 5, 5}, {5, 5, 5, 5, 5}},
      {{1, 2, 3, 100}, {1, 2, 3, 5}},
      {{100, 3, 2, 1}, {5, 3, 2, 1}},
  };
  for (const Case& one : cases) CHECK(running_median(one.values) == one.smooth);
}

TEST_CASE("Theil and Sen's slope is the median of all pairs' slopes") {
  using Points = std::vector<std::pair<DayNumber, int>>;
  CHECK(theil_sen(Points{{0, 0}, {1, 1}, {2, 2}, {3, 3}, {4, 400}}) == 1);
  CHECK(theil_sen(Points{{0, 10}, {10, 0}}) == -1);
  CHECK(theil_sen(Points{{5, 10}, {5, 20}}) == 0);
  CHECK(theil_sen(Points{}) == 0);
}

TEST_CASE("the trend of a weight") {
  struct Case {
    std::vector<Weighing> weighings;
    WeightTrend trend;  ///< day, now, peak, its day, a week
  };
  const Case cases[] = {
      {{{0, 4000, false}, {30, 4100, false}, {60, 4050, false}, {90, 3600, false}, {120, 3500, false}},
       {120, 3500, 4050, 60, -64}},
      {{{0, 4000, false}, {30, 4010, false}, {60, 2000, false}, {90, 4020, false}}, {90, 4020, 4020, 90, 0}},
      {{{0, 4000, false}, {30, 4010, false}, {60, 4020, false}, {90, 3000, false}}, {90, 4010, 4010, 90, 0}},
      {{{0, 4000, false}, {30, 4400, true}, {60, 4010, false}, {90, 3990, false}}, {90, 4000, 4000, 90, 0}},
      {{{0, 4000, false}, {200, 3000, false}, {230, 3000, false}, {260, 3000, false}}, {260, 3000, 3000, 260, 0}},
      {{{0, 4000, false}, {30, 3000, false}}, {30, 3000, 3000, 30, 0}},
      {{{16, 612, false},
        {46, 2032, false},
        {47, 1871, true},
        {73, 2037, false},
        {85, 2025, false},
        {101, 2064, false},
        {128, 1935, false},
        {154, 2047, false},
        {166, 2105, false},
        {168, 2106, false},
        {191, 2055, false}},
       {191, 2105, 2105, 191, 0}},
      {{{15, 1273, false},
        {22, 1018, false},
        {34, 777, false},
        {46, 671, true},
        {59, 798, false},
        {59, 594, true},
        {80, 579, false},
        {99, 470, false},
        {107, 517, true}},
       {99, 470, 1273, 15, -57}},
      {{{6, 7653, false},
        {34, 7581, false},
        {38, 7545, false},
        {64, 2575, false},
        {81, 7657, false},
        {92, 2455, true},
        {115, 7162, false},
        {148, 6992, false},
        {174, 7005, false},
        {204, 6956, false}},
       {204, 6966, 7581, 34, -27}},
      {{{20, 5695, false},
        {44, 5750, false},
        {69, 5949, false},
        {87, 1978, false},
        {90, 1909, false},
        {97, 5777, false},
        {128, 5913, false},
        {137, 6098, true},
        {170, 2016, false},
        {193, 5934, false},
        {208, 5944, true}},
       {193, 5934, 5934, 193, 0}},
      {{{2, 2424, false}, {6, 815, false}, {11, 2228, false}, {39, 2183, false}, {47, 2301, false}},
       {47, 2301, 2318, 2, 1}},
      {{{28, 7951, false},
        {32, 8076, false},
        {50, 7960, true},
        {67, 7803, false},
        {95, 7975, false},
        {110, 8092, false},
        {112, 8170, false},
        {115, 8357, false},
        {128, 8415, false},
        {138, 8489, false},
        {146, 8426, false}},
       {146, 8426, 8426, 146, 0}},
      {{{22, 2863, true}, {31, 2657, true}, {55, 2764, false}, {63, 2678, false}, {78, 2665, false}},
       {78, 2665, 2704, 55, -30}},
      {{{20, 7272, false},
        {45, 7404, false},
        {53, 7470, false},
        {76, 7309, false},
        {86, 7362, false},
        {89, 2356, false},
        {96, 7101, true}},
       {89, 7203, 7404, 53, -522}},
  };
  int number = 0;
  for (const Case& one : cases) {
    INFO("series " << ++number);
    const auto trend = weight_trend(one.weighings, 180);
    REQUIRE(trend);
    CHECK(trend->day == one.trend.day);
    CHECK(trend->now == one.trend.now);
    CHECK(trend->peak == one.trend.peak);
    CHECK(trend->peak_day == one.trend.peak_day);
    CHECK(trend->week == one.trend.week);
  }
}

TEST_CASE("full bellies and nothing at all give no trend, one wrong weight no loss") {
  CHECK_FALSE(weight_trend(std::vector<Weighing>{}, 180));
  CHECK_FALSE(weight_trend(std::vector<Weighing>{{0, 4000, true}}, 180));
  const auto typed_wrong = weight_trend(std::vector<Weighing>{{0, 4000}, {30, 4010}, {60, 4020}, {90, 400}}, 180);
  REQUIRE(typed_wrong);
  CHECK(typed_wrong->now == typed_wrong->peak);
}
