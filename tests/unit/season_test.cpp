// The season: what is expected next, from what was seen last. All intervals are common practice, no source.
#include "core/husbandry/season.h"
#include "tests/support/catch.h"

using namespace rackside::core;

namespace {

const SeasonRules kCorn = usual_season("corn snake");
const SeasonRules kBall = usual_season("ball python");

std::vector<Expected> next(const std::vector<SeasonFact>& facts, const SeasonRules& rules, DayNumber today) {
  return expected_of(facts, windows_of(rules, {}), today);
}

}  // namespace

TEST_CASE("a pairing expects eggs, a pre-lay shed expects them sooner, eggs expect hatchlings") {
  std::vector<SeasonFact> facts{{100, Kind::paired}};
  auto expected = next(facts, kCorn, 110);
  REQUIRE(expected.size() == 1);
  CHECK(expected[0].step == Step::pairing_to_laying);
  CHECK(expected[0].first >= 145);
  CHECK(expected[0].last <= 175);

  facts.push_back({130, Kind::gravid});
  facts.push_back({150, Kind::shed});
  expected = next(facts, kCorn, 151);
  REQUIRE(expected.size() == 1);
  CHECK(expected[0].step == Step::shed_to_laying);
  CHECK(expected[0].first >= 157);
  CHECK(expected[0].last <= 164);

  facts.push_back({160, Kind::laid});
  expected = next(facts, kCorn, 161);
  REQUIRE(expected.size() == 1);
  CHECK(expected[0].step == Step::laying_to_hatching);
  CHECK(expected[0].since == 160);

  facts.push_back({219, Kind::hatched});
  CHECK(next(facts, kCorn, 220).empty());
}

TEST_CASE("an ordinary shed is not the one before laying") {
  const std::vector<SeasonFact> facts{{100, Kind::paired}, {120, Kind::shed}};
  const auto expected = next(facts, kCorn, 121);
  REQUIRE(expected.size() == 1);
  CHECK(expected[0].step == Step::pairing_to_laying);
}

TEST_CASE("where a species has no range for a step nothing is shown") {
  CHECK(next({{100, Kind::paired}}, kBall, 110).empty());
  CHECK(next({{100, Kind::paired}}, usual_season("a snake that nobody keeps"), 110).empty());
  CHECK(next({{100, Kind::paired}, {150, Kind::ovulated}}, kBall, 151).size() == 1);
}

TEST_CASE("a second clutch is expected while the first incubates") {
  const std::vector<SeasonFact> facts{{100, Kind::paired}, {160, Kind::laid}, {180, Kind::paired}};
  const auto expected = next(facts, kCorn, 185);
  REQUIRE(expected.size() == 2);
  CHECK(expected[0].step == Step::pairing_to_laying);
  CHECK(expected[1].step == Step::laying_to_hatching);
}

TEST_CASE("late is told for a while, then forgotten; what lies ahead of today does not count yet") {
  const std::vector<SeasonFact> facts{{100, Kind::paired}};
  CHECK(next(facts, kCorn, 180)[0].late > 0);
  CHECK(next(facts, kCorn, 300).empty());
  CHECK(next(facts, kCorn, 99).empty());
}

TEST_CASE("past seasons are measured, and what cannot be one is left out") {
  const std::vector<SeasonFact> facts{{100, Kind::paired}, {130, Kind::gravid},  {150, Kind::shed},
                                      {160, Kind::laid},   {219, Kind::hatched}, {500, Kind::paired},
                                      {900, Kind::laid},   {901, Kind::hatched}};
  const auto past = past_intervals(facts, kCorn);
  CHECK(past.at(Step::pairing_to_laying) == std::vector<double>{60});
  CHECK(past.at(Step::shed_to_laying) == std::vector<double>{10});
  CHECK(past.at(Step::laying_to_hatching) == std::vector<double>{59});
}

TEST_CASE("ranges of days as people write them") {
  CHECK(parse_days("55-62")->most == 62);
  CHECK(parse_days("60")->least == 60);
  for (const char* wrong : {"", "-", "62-55", "0", "5-", "-5", "55–62", "401", "10-500", "five"})
    CHECK(!parse_days(wrong));
}
