// The words of the paper sheet's rows: what a helper who knows no jargon does at the tub.
#include "cli/care/sheet_page.h"
#include "tests/support/catch.h"

using namespace rackside;
using namespace rackside::core;

namespace {

constexpr DayNumber kTonight = 20'784;  // 2026-11-27

cli::SheetWords words(MealState meal, std::vector<DueLine> lines = {}) {
  SheetRow row;
  row.meal = meal;
  row.diet.prey = "adult-mouse";
  row.diet.count = 1;
  row.lines = std::move(lines);
  return cli::words_of(row, kTonight);
}

const DueLine kOffFeed{Due::off_feed, 2, "refused 2 times in a row, which it never did before: look, weigh"};

}  // namespace

TEST_CASE("who refuses and is due is offered food, who is not due is looked at, with the day of its next food") {
  const cli::SheetWords due = words({Meal::due, 1}, {kOffFeed});
  CHECK(due.what == "offer adult-mouse");
  CHECK(due.why == "! off feed: if it refuses again, weigh it");
  CHECK(due.feed);
  const cli::SheetWords early = words({Meal::early, 3}, {kOffFeed});
  CHECK(early.what == "refuses: look, weigh");
  CHECK(early.why.starts_with("! next food 2026-11-30; refused 2 times"));
  CHECK_FALSE(early.feed);
  CHECK(early.reason == "off feed: " + kOffFeed.why);
}

TEST_CASE("food that lies in the tub is not added to, whether somebody must look or not") {
  const DueLine offer{Due::open_offer, 0, "food is in the tub: look in the morning"};
  CHECK(words({Meal::waits, 0}, {offer}).what == "add no food, look tomorrow");
  CHECK(words({Meal::waits, 1}, {offer}).what == "look now, add no food");
  CHECK(words({Meal::waits, 1}, {offer}).why.find("gone = ate, still there = leftover") != std::string::npos);
  const cli::SheetWords ill = words({Meal::waits, 0}, {{Due::ill, 1, "looked unwell 1 day ago: look"}, offer});
  CHECK(ill.what == "ill: look");
  CHECK(ill.why.starts_with("! food is in, add none; looked unwell"));
}

TEST_CASE("an opaque animal gets food again once it has shed") {
  CHECK(words({Meal::opaque, 2}).why == "no food; once it has shed it may be fed");
  CHECK(words({Meal::due, 0}).what == "adult-mouse");
}
