// From the egg to "ready to go". All limits are common practice, no source, and settings where a keeper would change
// them.
#include "core/husbandry/hatchling.h"
#include "tests/support/catch.h"

using namespace rackside::core;
using Stage = YoungState::Stage;

namespace {

YoungFact food(DayNumber day, Kind kind, const char* prey = "pinkie", const char* how = "") {
  return {.day = day, .kind = kind, .prey = prey, .how = how};
}
YoungFact seen(DayNumber day, Kind kind, int repeat = 0) {
  return {.day = day, .kind = kind, .repeat_days = repeat};
}

YoungState state(const std::vector<YoungFact>& facts, DayNumber today = 100, ReadyRules rules = {},
                 bool sex_known = false) {
  return young_state(facts, sex_known, rules, today);
}

/// Shed, sexed and so many meals.
std::vector<YoungFact> good_start(int meals) {
  std::vector<YoungFact> facts{seen(8, Kind::shed), seen(9, Kind::sexed)};
  for (int i = 0; i < meals; ++i) facts.push_back(food(12 + 6 * i, Kind::fed));
  return facts;
}

}  // namespace

TEST_CASE("a young one goes from the first shed to ready") {
  CHECK(state({}).stage == Stage::before_shed);
  CHECK(state({seen(8, Kind::shed)}).stage == Stage::not_begun);
  CHECK(state(good_start(1)).stage == Stage::begun);
  CHECK(state(good_start(1)).missing == std::vector<std::string>{"3 more meals without help"});
  CHECK(state(good_start(3)).missing == std::vector<std::string>{"1 more meal without help"});
  CHECK(state(good_start(4)).stage == Stage::ready);
  CHECK(state(good_start(2), 100, {.meals = 2}).stage == Stage::ready);
}

TEST_CASE("ready needs the first shed, the sex and meals without help") {
  std::vector<YoungFact> facts = good_start(4);
  facts.erase(facts.begin());  // no shed
  CHECK(state(facts).missing == std::vector<std::string>{"first shed"});
  facts.erase(facts.begin());  // nor sexed
  CHECK(state(facts).missing == std::vector<std::string>{"first shed", "sexing"});
  CHECK(state(facts, 100, {}, true).missing == std::vector<std::string>{"first shed"});
}

TEST_CASE("a meal with help counts as none, and begins the row anew") {
  auto facts = good_start(3);
  facts.push_back(food(40, Kind::fed, "pinkie", "assisted"));
  facts.push_back(food(46, Kind::fed));
  CHECK(state(facts).meals == 1);
  CHECK(state(facts).assisted == 1);
  CHECK(state({seen(8, Kind::shed), food(12, Kind::fed, "pinkie", "assisted")}).stage == Stage::not_begun);
}

TEST_CASE("a meal that was brought up begins the row anew") {
  auto facts = good_start(4);
  facts.push_back(seen(50, Kind::regurgitated));
  CHECK(state(facts).stage == Stage::begun);
  CHECK(state(facts).meals == 0);
}

TEST_CASE("what was tried before it began, most often first; two accounts of one night are one try") {
  const YoungState tried =
      state({seen(8, Kind::shed), food(10, Kind::refused, "pinkie", "tongs"),
             food(10, Kind::refused, "pinkie", "tongs"), food(15, Kind::refused, "pinkie", "dish"),
             food(20, Kind::leftover, "pinkie", "dish"), food(25, Kind::refused, "lizard-scented", "")});
  CHECK(tried.stage == Stage::not_begun);
  REQUIRE(tried.tried.size() == 3);
  CHECK(tried.tried[0] == Tried{"pinkie", "dish", 2, 20});
  CHECK(tried.tried[1] == Tried{"pinkie", "tongs", 1, 10});
  CHECK(tried.tried[2] == Tried{"lizard-scented", "", 1, 25});
  // Once it eats, a refusal is no try any more.
  CHECK(state({food(10, Kind::fed), food(15, Kind::refused)}).tried.empty());
}

TEST_CASE("never ready under treatment or held back") {
  // England: an animal under treatment is marked and not sold (SI 2018/486, schedule 3, paragraph 2(2)).
  auto treated = good_start(4);
  treated.push_back(seen(60, Kind::treated));
  CHECK(state(treated, 74).stage == Stage::kept);
  CHECK(state(treated, 74).kept_for.size() == 1);
  CHECK(state(treated, 75).stage == Stage::ready);
  treated.back().repeat_days = 14;
  CHECK(state(treated, 81).stage == Stage::kept);
  CHECK(state(treated, 82).stage == Stage::ready);
  auto held = good_start(4);
  held.push_back(seen(60, Kind::held));
  CHECK(state(held).stage == Stage::kept);
  held.push_back(seen(70, Kind::reserved));
  CHECK(state(held).stage == Stage::ready);
}

TEST_CASE("what is told of tomorrow counts tomorrow") {
  CHECK(state(good_start(4), 29).stage == Stage::begun);
  CHECK(state(good_start(4), 30).stage == Stage::ready);
}
