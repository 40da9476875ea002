// History 7: withdrawals and answers.
#include "tests/history/helpers.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {
const std::string kAnimal = World::animal("one");

/// Two meals unawares, one question.
struct PerhapsTwice : ThreeHelpers {
  EventRef one, two;
  PerhapsTwice() {
    check_clocks();
    one = world.record(a, Kind::fed, {kAnimal});
    two = world.record(b, Kind::fed, {kAnimal});
  }
  Seen seen() { return only(*merged(), RuleId::feeding, kAnimal); }
};
}  // namespace

TEST_CASE("history 7: of two voids one is restored, and the entry stays void") {
  ThreeHelpers h;
  const EventRef fed = h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.pass(kMinute);
  const Instant since = h.world.now;
  const EventRef one = h.world.voids(h.a, fed);
  const EventRef two = h.world.voids(h.b, fed);
  h.world.restores(h.c, one);
  CHECK(is_void(*h.world.check_every_order(h.all, since), fed));
  h.world.restores(h.c, two);
  CHECK_FALSE(is_void(*h.merged(), fed));
}

TEST_CASE("history 7: a void of what is not held yet waits for it") {
  ThreeHelpers h;
  const EventRef fed = h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.voids(h.b, fed);
  h.b.book().prepare_sync(h.b.clock(h.world.now));
  h.world.carry(h.b.book(), h.c.book());
  CHECK(matters(h.c.book(), RuleId::feeding, kAnimal).empty());
  h.a.book().prepare_sync(h.a.clock(h.world.now));
  h.world.carry(h.a.book(), h.c.book());
  CHECK(is_void(h.c.book(), fed));
  CHECK(h.c.book().check().problems == std::vector<std::string>{});
}

TEST_CASE("history 7: `replaces` against a keeper's `died` is a question; the death stands until answered") {
  ThreeHelpers h;
  const EventRef died = h.world.record(h.world.hub(), Kind::died, {kAnimal});
  const EventRef note = h.world.record(h.a, Kind::noted, {kAnimal}, {.re = replaces(died)});
  const auto book = h.merged();
  CHECK_FALSE(is_void(*book, died));
  CHECK(only(*book, RuleId::withdrawal, "").asks);
  h.world.settles(h.world.hub(), "withdrawal", {died, note}, "gone");
  CHECK(is_void(*h.merged(), died));
}

TEST_CASE("history 7: one's own treatment of the same day is gone at once, of another day a question") {
  ThreeHelpers h;
  h.check_clocks();
  const EventRef early = h.world.record(h.a, Kind::treated, {kAnimal});
  h.world.at(1, 10, 0);
  const EventRef today = h.world.record(h.a, Kind::treated, {kAnimal});
  h.world.voids(h.a, early);
  h.world.voids(h.a, today);
  const auto book = h.merged();
  CHECK(is_void(*book, today));
  CHECK_FALSE(is_void(*book, early));
  CHECK(only(*book, RuleId::withdrawal, "").asks);
}

TEST_CASE("history 7: a replacement that is itself replaced still withdraws; one that is void does not") {
  ThreeHelpers h;
  const EventRef first = h.world.record(h.a, Kind::fed, {kAnimal});
  const EventRef second = h.world.record(h.b, Kind::refused, {kAnimal}, {.re = replaces(first)});
  h.world.record(h.c, Kind::fed, {kAnimal}, {.re = replaces(second)});
  CHECK(is_void(*h.merged(), first));
  CHECK(is_void(*h.merged(), second));
  h.world.voids(h.a, second);
  CHECK_FALSE(is_void(*h.merged(), first));
}

TEST_CASE("history 7: a question is settled once, and un-settled with open") {
  PerhapsTwice h;
  CHECK(h.seen().asks);
  const EventRef answer = h.world.settles(h.c, "feeding", {h.one, h.two}, "twice");
  CHECK_FALSE(h.seen().asks);
  CHECK(h.seen().amount == 2);
  h.world.settles(h.a, "feeding", {h.one, h.two, answer}, "open");
  CHECK(h.seen().asks);
  CHECK(h.seen().amount == 1);
}

TEST_CASE("history 7: who saw an answer and settles it otherwise overrules it") {
  PerhapsTwice h;
  const EventRef answer = h.world.settles(h.c, "feeding", {h.one, h.two}, "twice");
  h.world.settles(h.a, "feeding", {h.one, h.two, answer}, "once");
  CHECK_FALSE(h.seen().asks);
  CHECK(h.seen().amount == 1);
}

TEST_CASE("history 7: two who settle it differently, unawares, leave it open; alike, it is settled") {
  PerhapsTwice h;
  h.world.settles(h.c, "feeding", {h.one, h.two}, "twice");
  h.world.settles(h.a, "feeding", {h.one, h.two}, "twice");
  CHECK_FALSE(h.seen().asks);
  h.world.settles(h.b, "feeding", {h.one, h.two}, "once");
  CHECK(h.seen().asks);
  CHECK(h.seen().detail.text("settled") == "differently");
}

TEST_CASE("history 7: a third account re-opens it with the old answer as the belief; voided, it is settled again") {
  PerhapsTwice h;
  h.world.settles(h.c, "feeding", {h.one, h.two}, "twice");
  const EventRef third = h.world.record(h.c, Kind::fed, {kAnimal});
  CHECK(h.seen().asks);
  CHECK(h.seen().amount == 2);
  h.world.voids(h.c, third);
  CHECK_FALSE(h.seen().asks);
  CHECK(h.seen().amount == 2);
}

TEST_CASE("history 7: a settlement of one not admitted counts for nothing, until he is") {
  PerhapsTwice h;
  Device& d = h.world.device("d", Role::viewer);
  h.all.push_back(&d);
  h.world.settles(d, "feeding", {h.one, h.two}, "twice");
  CHECK(h.seen().asks);
  h.world.record(h.world.hub(), Kind::admitted, {},
                 {.own = Value::Object{{"device", to_hex(d.book().device())}, {"role", "helper"}}});
  CHECK_FALSE(h.seen().asks);
}

TEST_CASE("history 7: a clock check that moves a settled pair across noon keeps the answer") {
  ThreeHelpers h;
  h.a.clock_error_ms = 3 * kHour;
  h.b.clock_error_ms = 3 * kHour;
  h.world.at(1, 11, 30);  // both read half past two: the next feeding night
  const EventRef one = h.world.record(h.a, Kind::fed, {kAnimal});
  const EventRef two = h.world.record(h.b, Kind::fed, {kAnimal});
  h.world.settles(h.c, "feeding", {one, two}, "twice");
  const auto before = h.merged();
  CHECK(only(*before, RuleId::feeding, kAnimal).amount == 2);
  CHECK_FALSE(account(*before, one).sure);
  h.world.sync(h.a, h.world.hub());
  CHECK(matters(*h.merged(), RuleId::feeding, kAnimal).empty());  // one of them is of another night now
  h.world.sync(h.b, h.world.hub());
  const auto after = h.merged();
  CHECK(only(*after, RuleId::feeding, kAnimal).amount == 2);
  CHECK_FALSE(only(*after, RuleId::feeding, kAnimal).asks);
  CHECK(account(*after, one).observed == account(*before, one).observed - 3 * kHour);
}
