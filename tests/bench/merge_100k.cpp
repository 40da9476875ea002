#include <stdexcept>

#include "tests/bench/benchmarks.h"
#include "tests/bench/floor.h"

namespace rackside::bench {

/// A fresh book on disk takes a whole season; the floor stores the same lines. Both make their files in the time.
std::vector<Row> merge_100k(Stage& stage) {
  const Season& season = stage.season_100k();
  const auto expect_all = [&](std::size_t stored) {
    if (stored != season.events) throw std::runtime_error("merge-100k: not every event was stored");
  };
  return {compare(
      "merge-100k", 3, [&] { expect_all(feed_book(season, stage.fresh("merge.book"))); },
      [&] { expect_all(feed_floor(season.path, stage.fresh("merge.floor"))); })};
}

}  // namespace rackside::bench
