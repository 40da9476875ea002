// Histories 1, 2 and 9: meals, refusals, offers and leftovers of one feeding night.
#include "tests/history/helpers.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {
const std::string kAnimal = World::animal("one");
const std::string kOther = World::animal("two");
}  // namespace

TEST_CASE("history 1: fed, refused and fed within half an hour, unawares, is a tub to check") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.pass(kMinute);
  const Instant since = h.world.now;
  h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.pass(8 * kMinute);
  h.world.record(h.b, Kind::refused, {kAnimal});
  h.world.pass(8 * kMinute);
  h.world.record(h.c, Kind::fed, {kAnimal});
  h.world.check_every_order(h.all, since);
  const auto book = h.merged();
  const Seen seen = only(*book, RuleId::feeding, kAnimal);
  CHECK(seen.outcome == "check-tub");
  CHECK(seen.asks);
  CHECK(seen.members.size() == 3);
}

TEST_CASE("history 1: with checked clocks an hour apart the last word is the outcome") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.pass(kHour);
  h.world.record(h.b, Kind::refused, {kAnimal});
  CHECK(only(*h.merged(), RuleId::feeding, kAnimal).outcome == "refused");
  h.world.pass(kHour);
  h.world.record(h.c, Kind::fed, {kAnimal});
  const Seen seen = only(*h.merged(), RuleId::feeding, kAnimal);
  CHECK(seen.outcome == "ate");
  CHECK_FALSE(seen.asks);
}

TEST_CASE("history 1: an hour apart by clocks that nobody checked is no order") {
  ThreeHelpers h;
  h.a.clock_error_ms = h.b.clock_error_ms = kHour;
  h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.pass(kHour);
  h.world.record(h.b, Kind::refused, {kAnimal});
  CHECK(only(*h.merged(), RuleId::feeding, kAnimal).outcome == "check-tub");
}

TEST_CASE("history 1: who replaces the refusal withdraws it, and two meals are perhaps one") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.pass(5 * kMinute);
  const EventRef refused = h.world.record(h.b, Kind::refused, {kAnimal});
  h.world.pass(5 * kMinute);
  h.world.record(h.c, Kind::fed, {kAnimal}, {.re = replaces(refused)});
  const auto book = h.merged();
  CHECK(is_void(*book, refused));
  const Seen seen = only(*book, RuleId::feeding, kAnimal);
  CHECK(seen.outcome == "ate");
  CHECK(seen.amount == 1);
  CHECK(seen.detail.text("caution") == "perhaps-fed-twice");
}

TEST_CASE("history 1: one device five minutes apart knows its own order") {
  ThreeHelpers h;
  h.world.record(h.a, Kind::refused, {kAnimal});
  h.world.pass(5 * kMinute);
  h.world.record(h.a, Kind::fed, {kAnimal});
  const Seen seen = only(*h.merged(), RuleId::feeding, kAnimal);
  CHECK(seen.outcome == "ate");
  CHECK_FALSE(seen.asks);
}

TEST_CASE("history 1: what an author answers for came before, whatever the clocks say") {
  ThreeHelpers h;
  h.check_clocks();
  const EventRef fed = h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.record(h.b, Kind::refused, {kAnimal}, {.re = saw(fed), .said = SaidTime{.minutes_ago = 40}});
  CHECK(only(*h.merged(), RuleId::feeding, kAnimal).outcome == "refused");
}

TEST_CASE("history 2: meals belong to their night, not to a chain of meals") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.at(1, 18, 0);
  h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.pass(11 * kHour);
  h.world.record(h.b, Kind::fed, {kAnimal});
  h.world.pass(11 * kHour);
  h.world.record(h.c, Kind::fed, {kAnimal});
  const Seen seen = only(*h.merged(), RuleId::feeding, kAnimal);
  CHECK(seen.members.size() == 2);  // 18:00 and 05:00; 16:00 is the next night
}

TEST_CASE("history 2: a second serving by one, and another's meal unawares, are one meal or two") {
  ThreeHelpers h;
  h.world.at(1, 18, 0);
  h.world.record(h.b, Kind::fed, {kAnimal});
  const EventRef first = h.world.record(h.a, Kind::fed, {kAnimal});
  CHECK(only(*h.merged(), RuleId::feeding, kAnimal).detail.text("caution") == "perhaps-fed-twice");
  h.world.pass(2 * kHour);
  h.world.record(h.a, Kind::fed, {kAnimal}, {.re = again(first)});
  const Seen seen = only(*h.merged(), RuleId::feeding, kAnimal);
  CHECK(seen.asks);
  CHECK(seen.amount == 1);
}

TEST_CASE("history 2: a second serving that says so is two") {
  ThreeHelpers h;
  const EventRef first = h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.record(h.b, Kind::fed, {kAnimal}, {.re = again(first)});
  const Seen seen = only(*h.merged(), RuleId::feeding, kAnimal);
  CHECK(seen.amount == 2);
  CHECK_FALSE(seen.asks);
}

TEST_CASE("history 9: a leftover closes its own offer, and the second offer stays open") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.at(1, 19, 0);
  const EventRef offer = h.world.record(h.a, Kind::offered, {kAnimal});
  h.world.at(2, 8, 0);
  const EventRef left = h.world.record(h.b, Kind::leftover, {kAnimal}, {.re = saw(offer)});
  CHECK(only(*h.merged(), RuleId::feeding, kAnimal).outcome == "refused");
  h.world.at(2, 9, 0);
  h.world.record(h.c, Kind::offered, {kAnimal}, {.re = saw(left)});
  const Seen seen = only(*h.merged(), RuleId::feeding, kAnimal);
  CHECK(seen.outcome == "offered");
  CHECK(seen.detail.text("offer") == "open");
}

TEST_CASE("history 9: a leftover of the first offer, found after the second was made, closes only its own") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.at(1, 19, 0);
  const EventRef first = h.world.record(h.a, Kind::offered, {kAnimal});
  h.world.pass(2 * kHour);
  h.world.record(h.b, Kind::offered, {kAnimal});
  h.world.pass(2 * kHour);
  h.world.record(h.c, Kind::leftover, {kAnimal}, {.re = saw(first)});
  h.check_clocks();
  CHECK(only(*h.merged(), RuleId::feeding, kAnimal).detail.text("offer") == "open");
}

TEST_CASE("history 9: a leftover found after noon belongs to the night of its offer") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.at(1, 19, 0);
  const EventRef offer = h.world.record(h.a, Kind::offered, {kAnimal});
  h.world.at(2, 14, 0);
  h.world.record(h.b, Kind::leftover, {kAnimal}, {.re = saw(offer)});
  const Seen seen = only(*h.merged(), RuleId::feeding, kAnimal);
  CHECK(seen.outcome == "refused");
  CHECK(seen.members.size() == 2);
}

TEST_CASE("history 9: the rest of the rack ate, in one event, and a later leftover has the last word") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.at(1, 19, 0);
  const EventRef one = h.world.record(h.a, Kind::offered, {kAnimal});
  const EventRef two = h.world.record(h.a, Kind::offered, {kOther});
  h.world.at(2, 8, 0);
  h.world.record(h.b, Kind::ate, {}, {.re = {{one, Relation::saw}, {two, Relation::saw}}});
  const auto before = h.merged();
  CHECK(only(*before, RuleId::feeding, kAnimal).outcome == "ate");
  CHECK(only(*before, RuleId::feeding, kOther).outcome == "ate");
  h.world.pass(10 * kMinute);
  const EventRef beside = h.world.record(h.c, Kind::leftover, {kAnimal}, {.re = saw(one)});
  CHECK(only(*h.merged(), RuleId::feeding, kAnimal).outcome == "check-tub");
  h.world.voids(h.c, beside);
  h.world.pass(kHour);
  h.world.record(h.c, Kind::leftover, {kAnimal}, {.re = saw(one)});
  h.check_clocks();
  const auto after = h.merged();
  CHECK(only(*after, RuleId::feeding, kAnimal).outcome == "refused");
  CHECK(only(*after, RuleId::feeding, kOther).outcome == "ate");
}

TEST_CASE("history 9: the rest ate, told in the minute of the second of two offers, tells of both nights") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.at(1, 19, 0);
  const EventRef yesterday = h.world.record(h.a, Kind::offered, {kAnimal});
  h.world.at(2, 19, 0);
  h.check_clocks();
  const EventRef today = h.world.record(h.a, Kind::offered, {kAnimal});
  h.world.record(h.a, Kind::ate, {}, {.re = {{today, Relation::saw}, {yesterday, Relation::saw}}});
  const auto nights = matters(*h.merged(), RuleId::feeding, kAnimal);
  REQUIRE(nights.size() == 2);
  CHECK(nights[0].outcome == "ate");
  CHECK(nights[1].outcome == "ate");
}
