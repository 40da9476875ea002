#include <stdexcept>

#include "tests/bench/benchmarks.h"
#include "tests/bench/floor.h"

namespace rackside::bench {

/// A peer that asks nothing and sends everything again.
std::vector<Row> remerge_100k(Stage& stage) {
  const Season& season = stage.season_100k();
  const std::string book = stage.fresh("remerge.book");
  const std::string floor = stage.fresh("remerge.floor");
  feed_book(season, book);
  feed_floor(season.path, floor);
  const auto expect_none = [](std::size_t stored) {
    if (stored != 0) throw std::runtime_error("remerge-100k: an event was stored twice");
  };
  return {compare(
      "remerge-100k", 3, [&] { expect_none(feed_book(season, book)); },
      [&] { expect_none(feed_floor(season.path, floor)); })};
}

}  // namespace rackside::bench
