#include "tests/bench/benchmarks.h"

#include <array>

namespace rackside::bench {

std::span<const Benchmark> benchmarks() {
  static constexpr std::array kTable = {
      Benchmark{"merge-100k", merge_100k, "merge 100 000 events: parsing, chain, signatures, index and the whole fold"},
      Benchmark{"remerge-100k", remerge_100k, "the same events again, blind"},
      Benchmark{"merge-peak-mib", merge_peak, "peak memory of that merge"},
      Benchmark{"day-500@100k", day_500_100k, "one more day of 500 events, a tenth of them late, 10 000 animals"},
      Benchmark{"day-500@10m", day_500_10m, "the same in a book of ten million events, built once and kept"},
      Benchmark{"nothing-new@10m", nothing_new_10m,
                "an exchange without news in the store, there and in the small book"},
      Benchmark{"initial-sync-1m", initial_sync_1m,
                "a new laptop gets a million events over TLS, against the merge alone; bytes an event on the wire"},
      Benchmark{"log-fed@10m", log_fed_10m, "`rackside log fed CODE` from its start to the disk"},
      Benchmark{"today@10m", today_10m, "`rackside today` for 10 000 animals"},
      Benchmark{"sync-100", sync_100, "100 devices sync at once, 20 events each, 30 rounds: the 99th percentile"},
      Benchmark{"disk-bytes", disk_bytes, "bytes on disk per event, log, index and state told apart"},
      Benchmark{"genes-10k", genes_10k, "gene odds of 1 000 and of 10 000 animals over 12 generations and 40 loci"},
      Benchmark{"genes-peak", genes_peak, "memory of genes-10k, in a process of its own; floor: the collection alone"},
      Benchmark{"genes-clutch", genes_clutch, "one more clutch in these collections"},
      Benchmark{"genes-scaling", genes_scaling, "the same against animals, loci and generations"},
      Benchmark{"kin-100k", kin_100k, "inbreeding of 100 000 animals over 20 generations"},
      Benchmark{"plan", breeding_plan,
                "pairs of 500 males and 500 females that reach five looks, over two generations"},
      Benchmark{"print-10k", print_10k,
                "10 000 tub labels as a proven PDF, against drawing them; and peak memory against 1 000"},
  };
  return kTable;
}

}  // namespace rackside::bench
