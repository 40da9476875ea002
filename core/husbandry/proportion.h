#pragma once

#include <cstdint>

// How sure a rate of few is. Pure.
namespace rackside::core {

struct Proportion {
  double rate = 0;
  double least = 0;  ///< 95 of 100 such intervals hold the true rate
  double most = 1;
};

/// Wilson's score interval, 95 %, without continuity correction: it stays within 0 and 1 and is sound for small counts,
/// also for none and for all. Requires 0 <= hits <= all; of nothing at all the interval is 0 to 1.
/// Source: E. B. Wilson 1927, J Am Stat Assoc 22:209-212; recommended by R. G. Newcombe 1998, Stat Med 17:857-872.
Proportion proportion_of(std::int64_t hits, std::int64_t all);

}  // namespace rackside::core
