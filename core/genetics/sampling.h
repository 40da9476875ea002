#pragma once

#include <cstdint>
#include <vector>

#include "core/genetics/elimination.h"

namespace rackside::core::genetics {

/// Chances of a network that is too wide for elimination, by drawing: some variables are fixed so that the rest can be
/// solved exactly and drawn as a whole, then others are fixed, in turn. What is exact given the fixed ones is averaged.
/// The numbers drawn come from a fixed seed, so the same network gives the same answer.
/// Source: Jensen, Kong and Kjaerulff 1995, "Blocking Gibbs sampling in very large probabilistic expert systems".
struct Sampled {
  bool found = false;                        ///< false: no state was found to begin from
  std::vector<std::vector<double>> chances;  ///< by variable
  std::vector<double> errors;                ///< standard error, the largest of the variable's values: from ten batches
};

/// `begin`: a value of each variable that goes with many values of others, to begin from.
Sampled sample(const Network& network, const std::vector<std::uint32_t>& begin, unsigned sweeps);

}  // namespace rackside::core::genetics
