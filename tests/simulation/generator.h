#pragma once

#include "tests/simulation/script.h"

namespace rackside::simulation {

/// Which disasters a world knows.
struct Weather {
  bool poor_network = true;
  bool wrong_clocks = false;
  bool forks = false;
  bool disk_faults = false;
  bool oddities = true;  ///< events that no screen would make
};

/// A collection and what happens in it, hours to months, all of it from one number.
Script generate(std::uint64_t seed, const Weather& weather);

}  // namespace rackside::simulation
