#include "core/husbandry/plan.h"
#include "core/read/today.h"
#include "tests/support/catch.h"
#include "tests/support/world.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {

bool has(const std::vector<DueLine>& lines, Due due) {
  for (const DueLine& line : lines) {
    if (line.due == due) return true;
  }
  return false;
}

constexpr DayNumber kTonight = 20'000;

AnimalFacts eater(int nights_ago) {
  return {.last_meal = kTonight - nights_ago, .interval = {7, 10, false}};
}

}  // namespace

TEST_CASE("food is due from the shorter interval on and overdue after the longer one") {
  CHECK_FALSE(has(due_for(eater(6), kTonight), Due::food));
  CHECK(has(due_for(eater(7), kTonight), Due::food));
  CHECK(has(due_for(eater(10), kTonight), Due::food));
  CHECK_FALSE(has(due_for(eater(11), kTonight), Due::food));
  CHECK(has(due_for(eater(11), kTonight), Due::overdue));
}

TEST_CASE("an animal that never ate in this book is due, an opaque one is not") {
  CHECK(has(due_for(AnimalFacts{}, kTonight), Due::food));
  AnimalFacts opaque = eater(12);
  opaque.opaque = kTonight - 3;
  CHECK(due_for(opaque, kTonight).empty());
}

TEST_CASE("an open offer waits for its outcome instead of asking for food") {
  AnimalFacts facts = eater(20);
  facts.open_offer = kTonight - 1;
  CHECK(has(due_for(facts, kTonight), Due::open_offer));
  CHECK_FALSE(has(due_for(facts, kTonight), Due::overdue));
}

TEST_CASE("after a regurgitation the animal rests, and a veterinarian is named") {
  AnimalFacts facts = eater(8);
  facts.regurgitated = kTonight - 4;
  const auto lines = due_for(facts, kTonight);
  REQUIRE(lines.size() == 1);
  CHECK(lines.front().due == Due::leave_alone);
  CHECK(contains(lines.front().why, "veterinarian"));
}

TEST_CASE("a tub to check is asked for before food, and perhaps fed twice is left alone") {
  AnimalFacts facts = eater(20);
  facts.check_tub = kTonight - 1;
  CHECK(due_for(facts, kTonight).front().due == Due::check_tub);
  CHECK_FALSE(has(due_for(facts, kTonight), Due::overdue));
  AnimalFacts twice = eater(0);
  twice.caution = "perhaps-fed-twice";
  twice.caution_night = kTonight;
  CHECK(has(due_for(twice, kTonight), Due::leave_alone));
}

TEST_CASE("three refusals in a row are off feed") {
  AnimalFacts facts = eater(9);
  facts.refusals = 2;
  CHECK_FALSE(has(due_for(facts, kTonight), Due::off_feed));
  facts.refusals = 3;
  CHECK(has(due_for(facts, kTonight), Due::off_feed));
}

TEST_CASE("intervals are whole days, as one number or a range") {
  CHECK(parse_interval("7")->least == 7);
  CHECK(parse_interval("7-10")->most == 10);
  for (const char* bad : {"", "0", "10-7", "7-", "-7", "x", "7-10-12", "1000"}) CHECK_FALSE(parse_interval(bad));
}

TEST_CASE("without a setting hatchlings eat every 5 to 7 days and adults every 10 to 14 (common practice, no source)") {
  CHECK(usual_interval(kTonight - 100, kTonight).most == 7);
  CHECK(usual_interval(kTonight - 400, kTonight).least == 10);
  CHECK(usual_interval(std::nullopt, kTonight).least == 10);
}

TEST_CASE("today lists racks in walking order, quarantine last, and each animal where it is found") {
  World world;
  Device& hub = world.hub();
  const auto rack = [&](const std::string& name, int walk, bool quarantine) {
    Value set = Value::Object{{"short", name}, {"walk", walk}};
    if (quarantine) set.set("quarantine", true);
    const std::string code = World::code(CodeKind::rack, name).str();
    world.record(hub, Kind::rack, {code}, {.own = Value::Object{{"set", set}}});
    return code;
  };
  const auto animal = [&](const std::string& name, const std::string& rack_code, int position) {
    const std::string place = World::place(name + " place");
    world.record(hub, Kind::place, {place},
                 {.own = Value::Object{
                      {"set", Value::Object{{"short", name + "-tub"}, {"rack", rack_code}, {"position", position}}}}});
    world.record(hub, Kind::animal, {World::animal(name)},
                 {.own = Value::Object{{"set", Value::Object{{"short", name}}}}});
    world.record(hub, Kind::moved, {World::animal(name)}, {.place = place});
  };
  const std::string quarantine = rack("Q", 1, true);
  const std::string first = rack("A", 2, false);
  animal("late", first, 10);
  animal("early", first, 2);
  animal("new", quarantine, 1);
  world.record(hub, Kind::fed, {World::animal("late")});
  world.pass(20 * kDay);
  Reader reader(hub.book());
  const Today today = today_list(reader, world.now);
  REQUIRE(today.racks.size() == 2);
  CHECK(today.racks[0].rack->label == "A");
  CHECK(today.racks[1].quarantine);
  REQUIRE(today.racks[0].lines.size() == 2);
  CHECK(today.racks[0].lines[0].animal.label == "early");
  CHECK(today.racks[0].lines[1].animal.label == "late");
  CHECK(today.racks[0].lines[1].due.due == Due::overdue);
  CHECK(today.animals == 3);
}
