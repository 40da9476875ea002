#pragma once

#include <vector>

#include "core/genetics/collection.h"
#include "core/genetics/evidence.h"

namespace rackside::tests {

/// Odds by adding up every assignment of genotypes, in another representation than the program's: each animal has the
/// allele of its sire and that of its dam, in this order. For a handful of animals.
/// Beliefs about founders and the likelihoods of statements are the program's own, which the unit tests check.
struct Enumerated {
  double sum = 0;                                      ///< 0: what was said cannot all be true
  std::vector<std::vector<std::vector<double>>> odds;  ///< by animal, locus, state
  std::vector<std::vector<double>> sirings;            ///< by siring
};
Enumerated enumerate(const core::genetics::Species& species, const core::genetics::Collection& collection,
                     const core::genetics::Settings& settings);

}  // namespace rackside::tests
