#include "core/base/bytes.h"
#include "tests/bench/benchmarks.h"

namespace rackside::bench {

std::vector<Row> merge_peak(Stage& stage) {
  constexpr double kMib = 1024;
  const Season& season = stage.season_100k();
  const std::string collection = core::to_hex(season.collection);
  const std::size_t ours = peak_of_child({"--feed-book", season.path, collection, stage.fresh("peak.book")});
  const std::size_t floor = peak_of_child({"--feed-floor", season.path, stage.fresh("peak.floor")});
  return {{"merge-peak-mib", static_cast<double>(ours) / kMib, static_cast<double>(floor) / kMib, "MiB"}};
}

}  // namespace rackside::bench
