// Which male goes to which female. All numbers are common practice, no source.
#include "core/husbandry/rotation.h"
#include "tests/support/catch.h"

using namespace rackside::core;
using rackside::tests::contains;

namespace {

const Zone kUtc{{{0, 0}}};
constexpr std::int64_t kMale = 1;
constexpr DayNumber kToday = 20'000;
constexpr Instant kNow = Instant{kToday} * kDay + 18 * kHour;

/// A male and three females, 10, 11 and 12, who can all be paired.
struct Room {
  RotationPlan plan{.in_least = 2,
                    .in_most = 4,
                    .rest = 0,
                    .female_rest = 5,
                    .locks = 3,
                    .since = kToday - 60,
                    .females = {10, 11, 12}};
  RotationFacts male{.thing = kMale};
  std::vector<RotationFacts> females{{.thing = 10}, {.thing = 11}, {.thing = 12}};
  std::vector<VisitFacts> visits{3};
  std::optional<DayNumber> with_since;
  bool locked = false;
  std::optional<std::size_t> last;

  void with(std::size_t female, int days, bool lock = false) {
    male.company = females[female].thing;
    females[female].company = kMale;
    with_since = kToday - days;
    locked = lock;
    last = female;
  }
  RotationAdvice advice() const { return advise(plan, male, females, visits, with_since, locked, last, kNow, kUtc); }
};

}  // namespace

TEST_CASE("females come in order, and after the last the first again") {
  Room room;
  CHECK(room.advice().into == 10);
  room.last = 0;
  CHECK(room.advice().into == 11);
  room.last = 2;
  CHECK(room.advice().into == 10);
}

TEST_CASE("he stays, comes out after a lock, or at the latest after so many days") {
  struct Case {
    int days;
    bool lock, out;
  };
  for (const Case& one : {Case{0, false, false}, Case{1, true, false}, Case{2, false, false}, Case{2, true, true},
                          Case{3, false, false}, Case{4, false, true}, Case{9, true, true}}) {
    CAPTURE(one.days, one.lock);
    Room room;
    room.with(0, one.days, one.lock);
    const RotationAdvice advice = room.advice();
    CHECK(advice.out_of.has_value() == one.out);
    CHECK(advice.stays.has_value() != one.out);
    CHECK(advice.into == (one.out ? std::optional<std::int64_t>(11) : std::nullopt));
  }
}

TEST_CASE("with days of rest he goes home first") {
  Room room;
  room.plan.rest = 2;
  room.with(0, 4);
  CHECK(room.advice().out_of == 10);
  CHECK_FALSE(room.advice().into);
  Room rested;
  rested.plan.rest = 2;
  rested.last = 0;
  rested.male.last_visit = kToday - 1;
  CHECK_FALSE(rested.advice().into);
  rested.male.last_visit = kToday - 2;
  CHECK(rested.advice().into == 11);
}

TEST_CASE("who cannot be paired today is passed over, and why") {
  struct Case {
    const char* why;
    void (*change)(Room&);
  };
  for (const Case& one : {
           Case{"opaque since", [](Room& room) { room.females[0].opaque = kToday - 3; }},
           Case{"ate ", [](Room& room) { room.females[0].last_meal = kNow - 47 * kHour; }},
           Case{"light: 250 g, at least 300 g wanted",
                [](Room& room) {
                  room.females[0].grams_tenths = 2500;
                  room.females[0].least_grams_tenths = 3000;
                }},
           Case{"rests until", [](Room& room) { room.females[0].last_visit = kToday - 4; }},
           Case{"gravid since",
                [](Room& room) {
                  room.females[0].gravid = kToday - 10;
                  room.females[0].gravid_word = "gravid";
                }},
           Case{"has her 3 locks", [](Room& room) { room.visits[0].locks = 3; }},
           Case{"another is with her", [](Room& room) { room.females[0].company = 99; }},
           Case{"under treatment since", [](Room& room) { room.females[0].treated = kToday - 3; }},
           Case{"brought its meal up", [](Room& room) { room.females[0].regurgitated = kToday - 9; }},
           Case{"not here any more", [](Room& room) { room.females[0].is_here = false; }},
       }) {
    CAPTURE(one.why);
    Room room;
    one.change(room);
    const RotationAdvice advice = room.advice();
    CHECK(advice.into == 11);
    REQUIRE(advice.skipped.size() == 1);
    CHECK(advice.skipped[0].female == 10);
    CHECK(advice.skipped[0].why.starts_with(one.why));
  }
}

TEST_CASE("48 hours after a meal are over to the minute") {
  Room room;
  room.females[0].last_meal = kNow - 48 * kHour;
  CHECK(room.advice().into == 10);
  room.females[0].last_meal = kNow - 48 * kHour + kMinute;
  CHECK(room.advice().into == 11);
}

TEST_CASE("eggs of an earlier season do not count, those of this one end her turn, also while he is with her") {
  Room room;
  room.females[0].gravid = room.plan.since - 1;
  room.females[0].gravid_word = "laid";
  CHECK(room.advice().into == 10);
  room.with(0, 1);
  room.females[0].gravid = kToday;
  room.females[0].gravid_word = "ovulated";
  CHECK(room.advice().out_of == 10);
  CHECK(contains(room.advice().why, "ovulated"));
}

TEST_CASE("a male who has just eaten, is opaque or treated stays alone, though he comes out") {
  Room room;
  room.with(0, 4);
  room.male.opaque = kToday - 1;
  const RotationAdvice advice = room.advice();
  CHECK(advice.out_of == 10);
  CHECK_FALSE(advice.into);
  CHECK(contains(advice.why, "he stays alone: opaque"));
}

TEST_CASE("when every female has her locks or eggs the rotation is done") {
  Room room;
  for (VisitFacts& visit : room.visits) visit.locks = 3;
  CHECK(room.advice().done);
  CHECK_FALSE(room.advice().into);
  room.visits[1].locks = 2;
  CHECK(room.advice().into == 11);
  CHECK_FALSE(room.advice().done);
  room.plan.locks = 0;  // no matter how many
  CHECK(room.advice().into == 10);
}

TEST_CASE("he is not put back to the only female right away") {
  Room room;
  room.plan.females = {10};
  room.females.resize(1);
  room.visits.resize(1);
  room.with(0, 4);
  CHECK(room.advice().out_of == 10);
  CHECK_FALSE(room.advice().into);
}

TEST_CASE("a plan that makes no sense says what is wrong") {
  const RotationPlan good{.females = {1}};
  CHECK(problem_of(good).empty());
  for (const RotationPlan& bad : {RotationPlan{}, RotationPlan{.in_least = 4, .in_most = 2, .females = {1}},
                                  RotationPlan{.in_least = 0, .females = {1}}, RotationPlan{.rest = -1, .females = {1}},
                                  RotationPlan{.locks = -1, .females = {1}}, RotationPlan{.females = {1, 1}}})
    CHECK_FALSE(problem_of(bad).empty());
}
