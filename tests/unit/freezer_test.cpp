// The freezer's arithmetic. Worked by hand; the margin and the days are common practice, no source.
#include "core/husbandry/freezer.h"

#include "tests/support/catch.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {

constexpr Instant kNow = 1000 * kDay;

Instant ago(int days) {
  return kNow - days * kDay;
}

}  // namespace

TEST_CASE("deliveries come to the stock, meals go off it, and a count sets it right") {
  using Entries = std::vector<FreezerEntry>;
  using Uses = std::vector<FreezerUse>;
  CHECK_FALSE(stock_of({}, Uses{{ago(1), 3}}, kNow).left);
  CHECK(stock_of(Entries{{ago(40), 100}}, Uses{{ago(50), 7}, {ago(39), 10}, {ago(1), 5}}, kNow).left == 85);
  CHECK(stock_of(Entries{{ago(40), 100}, {ago(10), 50, true}, {ago(5), 20}}, Uses{{ago(39), 10}, {ago(8), 6}}, kNow)
            .left == 64);
  CHECK(stock_of(Entries{{ago(40), 100}, {ago(5), -30}}, {}, kNow).left == 70);
  CHECK(stock_of(Entries{{ago(40), 5}}, Uses{{ago(3), 9}}, kNow).left == -4);
  CHECK_FALSE(stock_of(Entries{{ago(-1), 100}}, {}, kNow).left);  // of tomorrow, by a clock that is wrong
}

TEST_CASE("how long it lasts comes from the last four weeks") {
  const std::vector<FreezerEntry> entries{{ago(90), 200, true}};
  Stock stock = stock_of(entries, std::vector<FreezerUse>{{ago(60), 50}, {ago(27), 14}, {ago(1), 14}}, kNow);
  CHECK(stock.used == 28);
  CHECK(stock.left == 122);
  CHECK(stock.lasts == 122);  // one a day
  stock = stock_of(entries, std::vector<FreezerUse>{{ago(60), 50}}, kNow);
  CHECK_FALSE(stock.lasts);
  stock = stock_of(entries, std::vector<FreezerUse>{{ago(2), 260}}, kNow);
  CHECK(stock.lasts == 0);
}

TEST_CASE("a margin is rounded up, and none is none") {
  auto items = thaw_list({{"fuzzy", 1}, {"hopper", 40}, {"small-rat", 0}}, 5);
  REQUIRE(items.size() == 2);
  CHECK(items[0].all() == 2);
  CHECK(items[1].all() == 42);
  items = thaw_list({{"fuzzy", 41}}, 5);
  CHECK(items[0].margin == 3);  // 2.05, rounded up
  CHECK(thaw_list({{"fuzzy", 41}}, 0)[0].margin == 0);
}
