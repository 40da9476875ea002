#include "tests/bench/benchmarks.h"

#include <array>

namespace rackside::bench {

std::span<const Benchmark> benchmarks() {
  static constexpr std::array kTable = {
      Benchmark{"merge-100k", merge_100k, "merge 100 000 events: parsing, chain, signatures, index and the whole fold"},
      Benchmark{"remerge-100k", remerge_100k, "the same events again, blind"},
      Benchmark{"merge-peak-mib", merge_peak, "peak memory of that merge"},
      Benchmark{"disk-bytes", disk_bytes, "bytes on disk per event, log, index and state told apart"},
  };
  return kTable;
}

}  // namespace rackside::bench
