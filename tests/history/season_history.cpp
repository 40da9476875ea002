// History 3: sheds and eggs, whose groups start at their earliest account.
#include "tests/history/helpers.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {
const std::string kAnimal = World::animal("one");

Value eggs(int good, int slugs) {
  return Value::Object{{"good", good}, {"slugs", slugs}};
}

SaidTime on_day(World& world, int days) {
  const Instant now = world.now;
  world.at(days, 12, 0);
  const auto day = static_cast<int>(world.now / kDay);
  world.now = now;
  return {.day = day, .minute = 12 * 60};
}
}  // namespace

TEST_CASE("history 3: a late shed three days before the first moves the borders of the groups") {
  ThreeHelpers h;
  h.world.at(40, 12, 0);
  for (int day : {0, 6, 12}) h.world.record(h.a, Kind::shed, {kAnimal}, {.said = on_day(h.world, 20 + day)});
  const auto before = matters(*h.merged(), RuleId::shed, kAnimal);
  REQUIRE(before.size() == 2);
  CHECK(before[0].members.size() == 2);
  CHECK(before[1].members.size() == 1);
  h.world.record(h.b, Kind::shed, {kAnimal}, {.said = on_day(h.world, 17)});
  const auto after = matters(*h.merged(), RuleId::shed, kAnimal);
  REQUIRE(after.size() == 2);
  CHECK(after[0].members.size() == 2);  // days -3 and 0
  CHECK(after[1].members.size() == 2);  // days 6 and 12: less than seven days apart
}

namespace {
/// The cost of one late shed, on a day, in a chain of a hundred that are so many days apart.
RefoldStats cost_of_late_shed(int apart, int day) {
  ThreeHelpers h;
  for (int shed = 0; shed < 100; ++shed) {
    h.world.pass(apart * kDay);
    h.world.record(h.a, Kind::shed, {kAnimal});
  }
  h.world.sync(h.a, h.world.hub());
  h.world.sync(h.b, h.world.hub());
  h.world.record(h.b, Kind::shed, {kAnimal}, {.said = on_day(h.world, day)});
  CHECK(h.b.book().check().problems == std::vector<std::string>{});
  return h.b.book().last_fold();
}
}  // namespace

TEST_CASE("history 3: one late event in a chain of a hundred sheds folds few of them again") {
  for (const RefoldStats& stats : {cost_of_late_shed(30, 50 * 30 + 4), cost_of_late_shed(6, 49 * 6 + 2)}) {
    CHECK_FALSE(stats.all);
    CHECK(stats.derived < 10);
    CHECK(stats.grouped < 10);
  }
}

TEST_CASE("history 3: where a late event moves every later border, no more than those is folded again") {
  const RefoldStats stats = cost_of_late_shed(6, 50 * 6 + 4);
  CHECK(stats.derived < 10);
  CHECK(stats.grouped < 60);  // the fifty sheds after it, and its own group
}

TEST_CASE("history 3: withdrawn together, a second account and a shed that stood alone leave no group behind") {
  ThreeHelpers h;
  h.world.at(40, 12, 0);
  std::vector<EventRef> sheds;
  for (int day : {0, 2, 10, 20}) {
    sheds.push_back(h.world.record(h.a, Kind::shed, {kAnimal}, {.said = on_day(h.world, day)}));
  }
  std::vector<Draft> voids;
  for (std::size_t i : {1U, 2U}) voids.push_back({.kind = Kind::voided, .re = saw(sheds[i])});
  h.a.book().record(voids, h.a.clock(h.world.now));
  CHECK(matters(h.a.book(), RuleId::shed, kAnimal).size() == 2);
  CHECK(h.a.book().check().problems == std::vector<std::string>{});
  CHECK(matters(*h.merged(), RuleId::shed, kAnimal).size() == 2);
}

TEST_CASE("history 3: stuck is believed over complete until somebody clears it") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::shed, {kAnimal}, {.own = Value::Object{{"stuck", "tail"}}});
  h.world.record(h.b, Kind::shed, {kAnimal});
  CHECK(only(*h.merged(), RuleId::shed, kAnimal).outcome == "stuck");
  h.world.pass(kDay);
  h.world.sync_all();
  h.world.record(h.c, Kind::cleared, {kAnimal});
  CHECK(only(*h.merged(), RuleId::shed, kAnimal).outcome == "complete");
}

TEST_CASE("history 3: laid three times in five days, twice as more eggs") {
  ThreeHelpers h;
  h.check_clocks();
  const EventRef first = h.world.record(h.a, Kind::laid, {kAnimal}, {.own = eggs(6, 1)});
  h.world.pass(30 * kHour);
  const EventRef second = h.world.record(h.b, Kind::laid, {kAnimal}, {.re = again(first), .own = eggs(2, 0)});
  h.world.pass(3 * kDay);
  h.world.record(h.c, Kind::laid, {kAnimal}, {.re = again(second), .own = eggs(1, 0)});
  const auto seen = matters(*h.merged(), RuleId::laying, kAnimal);
  REQUIRE(seen.size() == 2);
  CHECK(seen[0].amount == 9);
  CHECK_FALSE(seen[0].asks);
  CHECK(seen[1].amount == 1);
  CHECK(seen[1].detail.text("caution") == "eggs-late");
}

TEST_CASE("history 3: eggs counted twice unawares are the larger count and a question") {
  ThreeHelpers h;
  h.world.record(h.a, Kind::laid, {kAnimal}, {.own = eggs(6, 0)});
  h.world.record(h.b, Kind::laid, {kAnimal}, {.own = eggs(7, 1)});
  const Seen seen = only(*h.merged(), RuleId::laying, kAnimal);
  CHECK(seen.amount == 8);
  CHECK(seen.asks);
  h.world.settles(h.c, "laying", seen.members, "more-eggs");
  CHECK(only(*h.merged(), RuleId::laying, kAnimal).amount == 14);
}

namespace {
Value egg(int number) {
  return Value::Object{{"egg", number}};
}
Value young(int count) {
  return Value::Object{{"count", count}};
}
Value remedy(const std::string& with) {
  return Value::Object{{"with", with}};
}
}  // namespace

TEST_CASE("history 10: one egg that hatched by two accounts, unawares, hatched once, and is asked about") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.pass(kMinute);
  const Instant since = h.world.now;
  h.world.record(h.a, Kind::hatched, {kAnimal}, {.own = egg(3)});
  h.world.pass(8 * kMinute);
  h.world.record(h.b, Kind::hatched, {kAnimal}, {.own = egg(3)});
  h.world.record(h.c, Kind::hatched, {kAnimal}, {.own = egg(4)});
  h.world.check_every_order(h.all, since);
  const Seen seen = only(*h.merged(), RuleId::hatching, kAnimal);
  CHECK(seen.amount == 2);
  CHECK(seen.asks);
  CHECK(seen.detail.number("together") == 3);
  const std::vector<EventRef> members = seen.members;
  h.world.settles(h.a, "hatching", members, "more-young");
  CHECK(only(*h.merged(), RuleId::hatching, kAnimal).amount == 3);
  CHECK_FALSE(only(*h.merged(), RuleId::hatching, kAnimal).asks);
}

TEST_CASE("history 10: of one egg told twice in a known order the later account is the one that counts") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::hatched, {kAnimal}, {.own = egg(3)});
  h.world.pass(kHour);
  h.world.record(h.b, Kind::hatched, {kAnimal}, {.own = egg(3)});
  const Seen seen = only(*h.merged(), RuleId::hatching, kAnimal);
  CHECK(seen.amount == 1);
  CHECK_FALSE(seen.asks);
}

TEST_CASE("history 10: young counted over days add up; counted unawares, the larger count is believed") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::hatched, {kAnimal}, {.own = young(2)});
  h.world.pass(kDay);
  h.check_clocks();
  h.world.record(h.b, Kind::hatched, {kAnimal}, {.own = young(5)});
  CHECK(only(*h.merged(), RuleId::hatching, kAnimal).amount == 7);
  CHECK_FALSE(only(*h.merged(), RuleId::hatching, kAnimal).asks);
  h.world.pass(5 * kMinute);
  h.world.record(h.c, Kind::hatched, {kAnimal}, {.own = young(6)});
  const Seen seen = only(*h.merged(), RuleId::hatching, kAnimal);
  CHECK(seen.amount == 8);
  CHECK(seen.asks);
  CHECK(seen.detail.number("together") == 13);
}

TEST_CASE("history 10: treated twice unawares: both doses are believed given, nothing is asked, the next is warned") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.pass(kMinute);
  const Instant since = h.world.now;
  h.world.record(h.a, Kind::treated, {kAnimal}, {.own = remedy("fenbendazole")});
  h.world.pass(8 * kMinute);
  h.world.record(h.b, Kind::treated, {kAnimal}, {.own = remedy("fenbendazole")});
  h.world.check_every_order(h.all, since);
  const Seen seen = only(*h.merged(), RuleId::dosing, kAnimal);
  CHECK(seen.amount == 2);
  CHECK_FALSE(seen.asks);
  CHECK(seen.detail.text("caution") == "perhaps-treated-twice");
}

TEST_CASE("history 10: two remedies are no repetition, and one dose told twice is one") {
  ThreeHelpers h;
  h.check_clocks();
  const EventRef first = h.world.record(h.a, Kind::treated, {kAnimal}, {.own = remedy("fenbendazole")});
  h.world.record(h.b, Kind::treated, {kAnimal}, {.own = remedy("chlorhexidine")});
  CHECK(only(*h.merged(), RuleId::dosing, kAnimal).detail.text("caution").empty());
  h.world.record(h.c, Kind::treated, {kAnimal}, {.re = {{first, Relation::same}}, .own = remedy("fenbendazole")});
  const Seen seen = only(*h.merged(), RuleId::dosing, kAnimal);
  CHECK(seen.amount == 2);
  CHECK(seen.detail.text("caution").empty());
  h.world.pass(12 * kHour);
  h.world.record(h.c, Kind::treated, {kAnimal}, {.own = remedy("fenbendazole")});
  CHECK(only(*h.merged(), RuleId::dosing, kAnimal).detail.text("caution") == "treated-twice");
}
