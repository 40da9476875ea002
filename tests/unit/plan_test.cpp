// What is due, from facts alone. Every row is common practice, no source, unless it says otherwise.
#include "core/husbandry/plan.h"

#include <algorithm>
#include <sstream>

#include "tests/support/catch.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {

constexpr DayNumber kTonight = 20'000;
const Moment kNow{kTonight, kTonight, {}};
const Limits kUsual;

/// Ate so many nights ago, every 7 to 10 days.
AnimalFacts eater(int nights_ago) {
  AnimalFacts facts;
  facts.last_meal = kTonight - nights_ago;
  facts.interval = {7, 10, false};
  return facts;
}

/// "food 2, off feed 3": what is due, and since when.
std::string told(const std::vector<DueLine>& lines) {
  std::string out;
  for (const DueLine& line : lines)
    out += (out.empty() ? "" : ", ") + std::string(word_of(line.due)) + " " + std::to_string(line.days);
  return out;
}

AnimalFacts lighter(int grams_tenths) {
  AnimalFacts facts = eater(3);
  facts.weighed = kTonight - 1;
  facts.grams_tenths = grams_tenths;
  facts.peak_tenths = 4000;
  facts.peak_day = kTonight - 50;
  facts.week_tenths = -56;
  return facts;
}

AnimalFacts shed_long_ago() {
  AnimalFacts facts = eater(3);
  facts.shed = kTonight - 61;
  facts.shed_usual = 45;
  facts.shed_latest = 60;
  return facts;
}

AnimalFacts refuser(int refusals) {
  AnimalFacts facts = eater(9);
  facts.refusals = refusals;
  return facts;
}

template <typename Change>
AnimalFacts with(AnimalFacts facts, Change change) {
  change(facts);
  return facts;
}

struct Case {
  const char* name;
  AnimalFacts facts;
  const char* due;
};

void check(const std::vector<Case>& cases) {
  for (const Case& one : cases) {
    INFO(one.name);
    CHECK(told(due_for(one.facts, kUsual, kNow)) == one.due);
  }
}

}  // namespace

TEST_CASE("what is due for food follows from the facts") {
  using F = AnimalFacts;
  check({
      {"never ate in this book", F{}, "food 0"},
      {"early: one night before the shorter interval", eater(6), ""},
      {"due from the shorter interval on", eater(7), "food 0"},
      {"still due at the longer one", eater(10), "food 3"},
      {"overdue after it", eater(11), "overdue 1"},
      {"opaque: a shed takes 7 to 14 days (a veterinary article)",
       with(eater(12), [](F& f) { f.opaque = kTonight - 3; }), ""},
      {"opaque for over three weeks is late, and food again", with(eater(12), [](F& f) { f.opaque = kTonight - 22; }),
       "shed late 1, overdue 2"},
      {"an open offer waits", with(eater(20), [](F& f) { f.open_offer = kTonight - 1; }), "open offer 1"},
      {"rest after a regurgitation", with(eater(12), [](F& f) { f.regurgitated = kTonight - 9; }), "leave alone 9"},
      {"and food after the rest", with(eater(12), [](F& f) { f.regurgitated = kTonight - 10; }), "overdue 2"},
      {"a tub to check, nothing else", with(eater(20), [](F& f) { f.check_tub = kTonight - 1; }), "check tub 1"},
      {"perhaps fed twice",
       with(eater(1),
            [](F& f) {
              f.caution = "perhaps-fed-twice";
              f.caution_night = kTonight - 1;
            }),
       "leave alone 1"},
      {"a fast on purpose",
       with(eater(60),
            [](F& f) {
              f.fast = Fast{kTonight - 40, kTonight, "cooling"};
            }),
       ""},
      {"the first night after it",
       with(eater(60),
            [](F& f) {
              f.fast = Fast{kTonight - 40, kTonight - 1, "cooling"};
            }),
       "overdue 50"},
      {"a fast to come changes nothing",
       with(eater(8),
            [](F& f) {
              f.fast = Fast{kTonight + 1, kTonight + 40, "cooling"};
            }),
       "food 1"},
      {"a gravid female is offered food, not overdue", with(eater(30), [](F& f) { f.gravid = kTonight - 20; }),
       "food 20"},
  });
}

TEST_CASE("off feed is measured by an animal's own habit, and never told of gravid and fasting ones") {
  using F = AnimalFacts;
  check({
      {"two refusals are none yet", refuser(2), "food 2"},
      {"three are off feed", refuser(3), "off feed 3, food 2"},
      {"not for one whose habit it is", with(refuser(6), [](F& f) { f.usual_refusals = 6; }), "food 2"},
      {"one more than its habit", with(refuser(7), [](F& f) { f.usual_refusals = 6; }), "off feed 7, food 2"},
      {"two, of one that never refuses", with(refuser(2), [](F& f) { f.never_refuses = true; }), "off feed 2, food 2"},
      {"gravid", with(refuser(5), [](F& f) { f.gravid = kTonight - 120; }), "food 2"},
      {"gravid is forgotten after four months", with(refuser(5), [](F& f) { f.gravid = kTonight - 121; }),
       "off feed 5, food 2"},
      {"fasting",
       with(refuser(5),
            [](F& f) {
              f.fast = Fast{kTonight, kTonight, "breeding"};
            }),
       ""},
  });
}

TEST_CASE("signs of skin, weight and health") {
  using F = AnimalFacts;
  check({
      {"ill until it is well", with(eater(3), [](F& f) { f.ill = kTonight - 2; }), "ill 2"},
      {"a dose on its day",
       with(eater(3),
            [](F& f) {
              f.courses = {{"a wormer", kTonight - 14, 14}};
            }),
       "dose 0"},
      {"not before",
       with(eater(3),
            [](F& f) {
              f.courses = {{"a wormer", kTonight - 13, 14}};
            }),
       ""},
      {"two remedies",
       with(eater(3),
            [](F& f) {
              f.courses = {{"a wormer", kTonight - 15, 14}, {"a salve", kTonight - 3, 1}};
            }),
       "dose 1, dose 2"},
      {"a dose that is not repeated asks nothing",
       with(eater(3),
            [](F& f) {
              f.courses = {{"a wormer", kTonight - 30, 0}};
            }),
       ""},
      {"a stuck shed until it is cleared", with(eater(3), [](F& f) { f.stuck = kTonight - 30; }), "stuck shed 30"},
      {"a shed later than its habit", shed_long_ago(), "shed late 1"},
      {"not while it is gravid", with(shed_long_ago(), [](F& f) { f.gravid = kTonight - 5; }), ""},
      {"nor in the two months after a cooling",
       with(shed_long_ago(),
            [](F& f) {
              f.fast = Fast{kTonight - 90, kTonight - 60, "cooling"};
            }),
       ""},
      {"but then",
       with(shed_long_ago(),
            [](F& f) {
              f.fast = Fast{kTonight - 90, kTonight - 61, "cooling"};
            }),
       "shed late 1"},
      {"a hatchling whose look nobody could tell, and that shed since",
       with(eater(3),
            [](F& f) {
              f.unsure_look = kTonight - 9;
              f.shed = kTonight - 2;
            }),
       "look again 2"},
      {"not before it sheds", with(eater(3), [](F& f) { f.unsure_look = kTonight - 9; }), ""},
      {"nor for a shed of before",
       with(eater(3),
            [](F& f) {
              f.unsure_look = kTonight - 9;
              f.shed = kTonight - 10;
            }),
       ""},
      {"a tenth lighter than its peak, and falling", lighter(3600), "weight loss 50"},
      {"less than a tenth", lighter(3601), ""},
      {"lighter, but gaining again", with(lighter(3500), [](F& f) { f.week_tenths = 1; }), ""},
      {"a weight of long ago says nothing", with(lighter(3500), [](F& f) { f.weighed = kTonight - 121; }), ""},
      {"nobody has looked for over two weeks", with(eater(3), [](F& f) { f.seen = kTonight - 15; }), "not seen 15"},
      {"two weeks are not over", with(eater(3), [](F& f) { f.seen = kTonight - 14; }), ""},
      {"who eats once a month is seen less often",
       with(eater(3),
            [](F& f) {
              f.interval = {28, 30, false};
              f.seen = kTonight - 33;
            }),
       ""},
  });
}

TEST_CASE("no sign is a diagnosis: each names a veterinarian, or asks to look") {
  AnimalFacts facts = lighter(2000);
  facts.last_meal = kTonight - 40;
  facts.regurgitated = kTonight - 1;
  facts.refusals = 9;
  facts.ill = facts.stuck = kTonight - 4;
  facts.courses = {{"a wormer", kTonight - 20, 14}};
  facts.opaque = kTonight - 40;
  facts.seen = kTonight - 60;
  const auto lines = due_for(facts, kUsual, kNow);
  CHECK(told(lines) ==
        "ill 4, dose 6, stuck shed 4, off feed 9, weight loss 50, shed late 19, not seen 60, leave alone 1");
  for (const DueLine& line : lines) {
    INFO(line.why);
    CHECK((contains(line.why, "veterinarian") || contains(line.why, "look")));
    for (const char* word : {"disease", "infect", "parasite", "diagnos"}) CHECK_FALSE(contains(line.why, word));
  }
}

// 48 hours of rest after a meal. Counted in hours, so clocks that change do not matter.
TEST_CASE("after a meal an animal rests for so many hours, not nights") {
  AnimalFacts facts = eater(1);
  const Instant meal = kTonight * kDay + 19 * kHour;
  facts.meal_minute = static_cast<int>(meal / kMinute);
  const auto rests = [&](Instant after, const Limits& limits) {
    return rests_after_meal(facts, limits, {kTonight + 1, kTonight + 1, meal + after});
  };
  CHECK(rests(0, kUsual));
  CHECK(rests(48 * kHour - kMinute, kUsual));
  CHECK_FALSE(rests(48 * kHour, kUsual));
  Limits longer;
  longer.set(Limit::meal_rest_hours, 72);
  CHECK(rests(60 * kHour, longer));
}

TEST_CASE("under treatment: until a week after the repeat, or for two weeks after a single dose") {
  AnimalFacts facts;
  const auto treated = [&](int days_ago, int repeat) {
    facts.courses = {{"a wormer", kTonight - days_ago, repeat}};
    return under_treatment(facts, kUsual, kTonight);
  };
  CHECK(treated(21, 14));
  CHECK_FALSE(treated(22, 14));
  CHECK(treated(14, 0));
  CHECK_FALSE(treated(15, 0));
}

TEST_CASE("gravid females can be left out of feeding by a setting") {
  AnimalFacts facts = eater(12);
  facts.gravid = kTonight - 10;
  Limits limits;
  limits.set(Limit::feed_gravid, 0);
  CHECK(meal_state(facts, limits, kNow).state == Meal::gravid);
  CHECK(told(due_for(facts, limits, kNow)).empty());
}

TEST_CASE("every limit has one row, and a value outside its range changes nothing") {
  for (const LimitInfo& one : limit_table()) {
    INFO(one.word);
    CHECK(limit_of(one.word) == one.limit);
    CHECK(one.least <= one.usual);
    CHECK(one.usual <= one.most);
    CHECK_FALSE(one.basis.empty());
    Limits limits;
    limits.set(one.limit, one.most + 1);
    CHECK(limits[one.limit] == one.usual);
    limits.set(one.limit, one.most);
    CHECK(limits[one.limit] == one.most);
  }
}

// Feeding nights across clock changes and leap days, Europe/Berlin. The number of nights was computed with python3's
// zoneinfo (tz database): night(t) = (local time of t − 12 h).date(), and the difference of two such dates.
TEST_CASE("how many nights ago a meal was does not depend on clocks that change or on leap days") {
  const Zone berlin{{{0, 60},
                     {1'711'846'800'000, 120},
                     {1'729'990'800'000, 60},
                     {1'774'746'000'000, 120},
                     {1'792'890'000'000, 60},
                     {1'837'645'200'000, 120}}};
  struct Span {
    Instant meal, now;
    int nights;
  };
  const Span spans[] = {
      {1774724400000, 1775325600000, 7},   // 2026-03-28 20:00 to 2026-04-04 20:00
      {1774744200000, 1775383140000, 7},   // 2026-03-29 01:30 to 2026-04-05 11:59
      {1774747800000, 1775383200000, 8},   // 2026-03-29 03:30 to 2026-04-05 12:00
      {1792864800000, 1793496600000, 7},   // 2026-10-24 20:00 to 2026-11-01 02:30
      {1792925940000, 1793530800000, 8},   // 2026-10-25 11:59 to 2026-11-01 12:00
      {1709146800000, 1709319600000, 2},   // 2024-02-28 20:00 to 2024-03-01 20:00
      {1803754800000, 1804320000000, 6},   // 2027-02-27 20:00 to 2027-03-06 09:00
      {1835388000000, 1836338400000, 11},  // 2028-02-28 23:00 to 2028-03-10 23:00
      {1798664400000, 1799269200000, 7},   // 2026-12-30 22:00 to 2027-01-06 22:00
  };
  const auto night = [&](Instant at) { return night_of(berlin, 12 * 60, at).number; };
  for (const Span& span : spans) {
    INFO(span.meal << " to " << span.now);
    CHECK(night(span.now) - night(span.meal) == span.nights);
    AnimalFacts facts;
    facts.last_meal = night(span.meal);
    facts.interval = {span.nights, span.nights, false};
    const DayNumber tonight = night(span.now);
    CHECK(told(due_for(facts, kUsual, {tonight, tonight, {}})) == "food 0");
    CHECK(told(due_for(facts, kUsual, {tonight + 1, tonight + 1, {}})) == "overdue 1");
    CHECK(meal_state(facts, kUsual, {tonight - 1, tonight - 1, {}}).state == Meal::early);
  }
}

TEST_CASE("late food says by how many nights, unless she is gravid") {
  AnimalFacts facts;
  facts.interval = {8, 12, false};
  facts.last_meal = kTonight - 13;
  const auto why = [&] { return due_for(facts, kUsual, kNow).back().why; };
  CHECK(why() == "1 night late: last ate 13 nights ago, every 8–12 days");
  facts.gravid = kTonight - 5;
  CHECK(why().starts_with("last ate 13 nights ago"));
  facts.gravid.reset();
  facts.open_offer = kTonight - 1;
  CHECK(due_for(facts, kUsual, kNow).front().why.find("gone is `ate`") != std::string::npos);
}
