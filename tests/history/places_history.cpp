// Histories 6 and 10: scans of places while animals move, one animal in two places, pairs.
#include "tests/history/helpers.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {
const std::string kAnimal = World::animal("one");
const std::string kOther = World::animal("two");
const std::string kB07 = World::place("B-07");
const std::string kC01 = World::place("C-01");
const std::string kD02 = World::place("D-02");

Entry to(const std::string& place, std::vector<Answer> re = {}) {
  return {.re = std::move(re), .place = place};
}
Entry scan_of(const std::string& place, const std::string& shown) {
  return {.place = place, .shown = {shown}};
}
using Things = std::set<std::string>;

/// At B-07 the screen of b shows `kAnimal`; an hour before, a moved it out and put another in.
struct MovedUnawares : ThreeHelpers {
  EventRef out;
  EventRef fed, weighed, laid, cleaned, treated;
  MovedUnawares() {
    check_clocks();
    world.record(a, Kind::moved, {kAnimal}, to(kB07));
    world.pass(2 * kHour);
    out = world.record(a, Kind::moved, {kAnimal}, to(kC01));
    world.record(a, Kind::moved, {kOther}, to(kB07));
    world.pass(kHour);
    fed = world.record(b, Kind::fed, {}, scan_of(kB07, kAnimal));
    weighed = world.record(b, Kind::weighed, {}, scan_of(kB07, kAnimal));
    laid = world.record(b, Kind::laid, {}, scan_of(kB07, kAnimal));
    cleaned = world.record(b, Kind::cleaned, {}, scan_of(kB07, kAnimal));
    treated = world.record(b, Kind::treated, {}, scan_of(kB07, kAnimal));
  }
};
}  // namespace

TEST_CASE("history 6: a scan where another animal lives now: the kind decides whose it was") {
  MovedUnawares h;
  const auto book = h.merged();
  CHECK(subjects(*book, h.fed) == Things{kOther});
  CHECK(subjects(*book, h.cleaned) == Things{kOther});
  CHECK(subjects(*book, h.weighed).empty());
  CHECK(subjects(*book, h.laid).empty());
  CHECK(subjects(*book, h.treated) == Things{kAnimal, kOther});
  CHECK(matters(*book, RuleId::whose, kB07).size() == 3);  // all three of one instant are asked
}

TEST_CASE("history 6: a question whose it was is answered for one scan, and nobody is an answer") {
  MovedUnawares h;
  h.world.settles(h.c, "whose", {h.weighed}, kOther);
  h.world.settles(h.c, "whose", {h.laid}, "nobody");
  const auto book = h.merged();
  CHECK(subjects(*book, h.weighed) == Things{kOther});
  CHECK(subjects(*book, h.laid).empty());
  CHECK(open_questions(*book) == 1);
}

TEST_CASE("history 6: the move is voided, and the scans are the first animal's; restored, and they are not") {
  MovedUnawares h;
  const EventRef gone = h.world.voids(h.a, h.out);
  CHECK(whereabouts(*h.merged(), kAnimal, h.world.now) == kB07);
  h.world.restores(h.c, gone);
  const auto book = h.merged();
  CHECK_FALSE(is_void(*book, h.out));
  CHECK(whereabouts(*book, kAnimal, h.world.now) == kC01);
  CHECK(subjects(*book, h.fed) == Things{kOther});
}

TEST_CASE("history 6: moved out and back within ten minutes, a scan between is in doubt and told") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::moved, {kAnimal}, to(kB07));
  h.world.pass(kHour);
  const Instant since = h.world.now;
  h.world.record(h.a, Kind::moved, {kAnimal}, to(kC01));
  h.world.pass(10 * kMinute);
  h.world.record(h.a, Kind::moved, {kAnimal}, to(kB07));
  h.world.pass(5 * kMinute);
  const EventRef fed = h.world.record(h.b, Kind::fed, {}, scan_of(kB07, kAnimal));
  const EventRef weighed = h.world.record(h.b, Kind::weighed, {}, scan_of(kB07, kAnimal));
  const auto book = h.world.check_every_order(h.all, since);
  CHECK(subjects(*book, fed) == Things{kAnimal});
  CHECK(subjects(*book, weighed).empty());
  CHECK(only(*book, RuleId::whose, kB07).asks);
  CHECK(whereabouts(*book, kAnimal, h.world.now) == kB07);
}

TEST_CASE("history 6: a scan sixteen minutes after the last move is in no doubt") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::moved, {kAnimal}, to(kB07));
  h.world.pass(16 * kMinute);
  const EventRef weighed = h.world.record(h.b, Kind::weighed, {}, scan_of(kB07, kAnimal));
  CHECK(subjects(*h.merged(), weighed) == Things{kAnimal});
}

TEST_CASE("history 6: a male just taken out to a female leaves his own tub in doubt") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::moved, {kAnimal}, to(kB07));
  h.world.pass(kHour);
  h.world.record(h.a, Kind::paired, {kAnimal, kOther}, to(kC01));
  h.world.pass(5 * kMinute);
  const EventRef weighed = h.world.record(h.b, Kind::weighed, {}, scan_of(kB07, kAnimal));
  const auto book = h.merged();
  CHECK(subjects(*book, weighed).empty());
  CHECK(only(*book, RuleId::whose, kB07).asks);
}

TEST_CASE("history 6: whoever weighs an animal and then moves it himself knows the order") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::moved, {kAnimal}, to(kB07));
  h.world.pass(kHour);
  const EventRef weighed = h.world.record(h.b, Kind::weighed, {}, scan_of(kB07, kAnimal));
  h.world.pass(2 * kMinute);
  h.world.record(h.b, Kind::moved, {kAnimal}, to(kC01));
  const auto book = h.merged();
  CHECK(subjects(*book, weighed) == Things{kAnimal});
  CHECK(open_questions(*book) == 0);
}

TEST_CASE("history 6: an unsure phone's move lies before the move of who saw it") {
  ThreeHelpers h;
  h.check_clocks();
  h.a.clock_error_ms = kDay + kHour;
  const EventRef unsure = h.world.record(h.a, Kind::moved, {kAnimal}, to(kB07));
  CHECK(whereabouts(*h.merged(), kAnimal, h.world.now + 3 * kDay).empty());
  CHECK(only(*h.merged(), RuleId::whereabouts, kAnimal).answers == std::vector<std::string>{"moved", "not-moved"});
  h.world.pass(kHour);
  h.world.record(h.b, Kind::moved, {kAnimal}, to(kC01, saw(unsure)));
  const auto book = h.merged();
  CHECK(whereabouts(*book, kAnimal, h.world.now + 3 * kDay) == kC01);
  CHECK(matters(*book, RuleId::whereabouts, kAnimal).empty());
}

TEST_CASE("history 10: one animal in two places: the last is believed, and one answer settles it") {
  ThreeHelpers h;
  h.check_clocks();
  const EventRef one = h.world.record(h.a, Kind::moved, {kAnimal}, to(kB07));
  h.world.pass(10 * kMinute);
  const EventRef two = h.world.record(h.b, Kind::moved, {kAnimal}, to(kC01));
  h.world.pass(10 * kMinute);
  const EventRef three = h.world.record(h.c, Kind::moved, {kAnimal}, to(kD02));
  const auto book = h.merged();
  CHECK(whereabouts(*book, kAnimal, h.world.now) == kD02);
  const Seen seen = only(*book, RuleId::whereabouts, kAnimal);
  CHECK(seen.asks);
  CHECK(seen.members.size() == 3);
  h.world.settles(h.world.hub(), "whereabouts", {one, two, three}, to_text(two));
  const auto settled = h.merged();
  CHECK(whereabouts(*settled, kAnimal, h.world.now) == kC01);
  CHECK(open_questions(*settled) == 0);
}

TEST_CASE("history 10: moves an hour apart by checked clocks are an order") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::moved, {kAnimal}, to(kB07));
  h.world.pass(kHour);
  h.world.record(h.b, Kind::moved, {kAnimal}, to(kC01));
  CHECK(open_questions(*h.merged()) == 0);
}

TEST_CASE("history 10: paired beside separated is a question, and his own place stays his") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::moved, {kAnimal}, to(kB07));
  h.world.pass(kHour);
  h.world.record(h.a, Kind::paired, {kAnimal, kOther}, to(kC01));
  h.world.pass(10 * kMinute);
  h.world.record(h.b, Kind::separated, {kAnimal});
  const auto book = h.merged();
  CHECK(only(*book, RuleId::whereabouts, kAnimal).asks);
  CHECK(whereabouts(*book, kAnimal, h.world.now) == kB07);
}

TEST_CASE("history 10: one male with two females: ordered it ends the first, unawares he is to be found") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::paired, {kAnimal, kOther}, to(kB07));
  h.world.pass(10 * kMinute);
  h.world.record(h.b, Kind::paired, {kAnimal, World::animal("three")}, to(kC01));
  CHECK(only(*h.merged(), RuleId::pairing, kAnimal).outcome == "find-him");
  ThreeHelpers later;
  later.check_clocks();
  later.world.record(later.a, Kind::paired, {kAnimal, kOther}, to(kB07));
  later.world.pass(kHour);
  later.world.record(later.b, Kind::paired, {kAnimal, World::animal("three")}, to(kC01));
  const Seen seen = only(*later.merged(), RuleId::pairing, kAnimal);
  CHECK(seen.outcome == "separation-not-recorded");
  CHECK_FALSE(seen.asks);
}

TEST_CASE("history 10: two that live in one tub are a question, which an answer that comes later closes") {
  ThreeHelpers h;
  const EventRef one =
      h.world.record(h.a, Kind::moved, {kAnimal}, {.place = kB07, .said = SaidTime{.day = 20725, .minute = 600}});
  const EventRef two =
      h.world.record(h.b, Kind::moved, {kOther}, {.place = kB07, .said = SaidTime{.day = 20726, .minute = 600}});
  CHECK(only(*h.merged(), RuleId::two_in_tub, kB07).asks);
  h.world.settles(h.c, "two-in-tub", {one, two}, "both");
  CHECK_FALSE(only(*h.merged(), RuleId::two_in_tub, kB07).asks);
}

TEST_CASE("history 6: a visit that began right after its visitor had moved out makes a scan at the old tub doubtful") {
  ThreeHelpers h;
  h.check_clocks();
  const std::string animal = World::animal("newcomer");
  const std::string old_tub = World::place("old tub");
  h.world.record(h.a, Kind::moved, {animal}, {.place = old_tub});
  h.world.pass(kDay);
  h.check_clocks();
  h.world.record(h.a, Kind::moved, {animal}, {.place = World::place("new tub")});
  h.world.pass(kMinute);
  const EventRef visit =
      h.world.record(h.b, Kind::paired, {animal, World::animal("host")}, {.place = World::place("hers")});
  h.world.pass(2 * kMinute);
  h.world.record(h.a, Kind::fed, {}, {.place = old_tub});
  h.check_clocks();
  REQUIRE(account(h.world.hub().book(), visit).sure);
  CHECK(only(*h.merged(), RuleId::whose, old_tub).asks);
}
