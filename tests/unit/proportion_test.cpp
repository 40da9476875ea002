#include <cmath>

#include "core/husbandry/proportion.h"
#include "tests/support/catch.h"

using namespace rackside::core;

namespace {

bool near(double a, double b) {
  return std::abs(a - b) <= 5e-5;  // the table prints four decimals
}

}  // namespace

TEST_CASE("Wilson's interval gives the printed limits") {
  // Newcombe 1998, Stat Med 17:857-872, table I, score method without continuity correction (the rows from memory;
  // recomputed with Python's math module).
  struct Row {
    int hits, all;
    double least, most;
  };
  for (const Row& row : {Row{81, 263, 0.2553, 0.3662}, Row{15, 148, 0.0624, 0.1605}, Row{0, 20, 0.0000, 0.1611},
                         Row{1, 29, 0.0061, 0.1718}}) {
    CAPTURE(row.hits, row.all);
    const Proportion one = proportion_of(row.hits, row.all);
    CHECK(near(one.least, row.least));
    CHECK(near(one.most, row.most));
    CHECK(near(one.rate, static_cast<double>(row.hits) / row.all));
  }
}

TEST_CASE("none and all have intervals that mirror each other; of nothing everything is possible") {
  for (int all = 1; all < 40; ++all) {
    CHECK(proportion_of(0, all).least == 0);
    CHECK(near(proportion_of(all, all).most, 1));
    CHECK(near(proportion_of(0, all).most, 1 - proportion_of(all, all).least));
  }
  CHECK(proportion_of(0, 0).least == 0);
  CHECK(proportion_of(0, 0).most == 1);
}
