#include "core/husbandry/plan.h"
#include "core/read/today.h"
#include "tests/support/catch.h"
#include "tests/support/world.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {

constexpr DayNumber kTonight = 20'000;

}  // namespace

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
  for (const char* name : {"late", "early", "new"}) world.record(hub, Kind::watered, {World::animal(name)});
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
  CHECK(today.sexes.unsexed == 3);
  CHECK(today.racks[0].count.all() == 2);
}

TEST_CASE("eggs are on the day's list from a week before the window: to be laid, then to hatch, by the rule of thumb") {
  // Corn snakes lay 45 to 75 days after pairing, and hatch 55 to 62 days after: common practice, no source.
  World world;
  Device& hub = world.hub();
  const std::string dam = World::animal("dam");
  world.record(
      hub, Kind::animal, {dam},
      {.own = Value::Object{{"set", Value::Object{{"short", "D-1"}, {"species", "corn snake"}, {"sex", "female"}}}}});
  world.record(hub, Kind::moved, {dam}, {.place = World::place("tub")});
  world.record(hub, Kind::paired, {dam, World::animal("sire")});
  const auto line = [&](Due due) -> std::optional<std::string> {
    Reader reader(hub.book());
    for (const TodayRack& rack : today_list(reader, world.now).racks) {
      for (const TodayLine& one : rack.lines)
        if (one.due.due == due) return one.due.why;
    }
    return std::nullopt;
  };
  CHECK_FALSE(line(Due::eggs));
  world.pass(45 * kDay);
  REQUIRE(line(Due::eggs));
  CHECK(line(Due::eggs)->starts_with("lays probably "));
  CHECK(line(Due::eggs)->find(" (right 8 times in 10)") != std::string::npos);
  CHECK(line(Due::eggs)->find("nest box") != std::string::npos);
  world.pass(40 * kDay);
  REQUIRE(line(Due::eggs));
  CHECK(line(Due::eggs)->find("late: look at her, and ask a veterinarian") != std::string::npos);
  world.record(hub, Kind::laid, {dam}, {.own = Value::Object{{"good", 12}, {"slugs", 1}}});
  CHECK_FALSE(line(Due::eggs));
  CHECK_FALSE(line(Due::hatching));
  world.pass(52 * kDay);
  REQUIRE(line(Due::hatching));
  CHECK(line(Due::hatching)->starts_with("eggs of "));
  CHECK(line(Due::hatching)->ends_with(": look in the egg box"));
  world.record(hub, Kind::hatched, {dam}, {.own = Value::Object{{"count", 3}}});
  CHECK_FALSE(line(Due::hatching));
}

TEST_CASE("a kept row of the day's list holds all that was read") {
  BoardRow row{
      .animal = 7, .every = "7-10", .hatched = "2024", .prey = "fuzzy", .species = "corn snake", .sex = "female"};
  row.facts.last_meal = 20'400;
  row.facts.caution = "fed-twice";
  row.facts.courses = {{"drops", 20'390, 3}, {"", 20'391, 0}};
  row.facts.fast = Fast{20'300, 20'310, "cooling"};
  row.season.progress = {.paired = 20'350, .shed = -3};
  row.season.past = {{Step::pairing_to_laying, 61}, {Step::laying_to_hatching, 58}};
  const std::string numbers = packed_numbers(row.facts);
  const std::string texts = packed_texts(row);
  BoardRow read{.animal = 7};
  unpack(as_bytes(numbers), texts, read);
  CHECK(read.season.progress == row.season.progress);
  CHECK(read.season.past == row.season.past);
  CHECK(read.facts.courses == row.facts.courses);
  CHECK(read.facts.fast == row.facts.fast);
  CHECK(packed_texts(read) == packed_texts(row));
  CHECK(packed_numbers(read.facts) == numbers);
}
