#pragma once

#include <span>
#include <vector>

#include "core/genetics/evidence.h"

// What is said of one of several loci, taken apart so that each locus can be weighed by itself once it is known which
// case holds.
namespace rackside::core::genetics {

/// A locus that such a statement is about.
struct SpokenOf {
  std::uint16_t locus = 0;
  const States* states = nullptr;
  std::vector<std::uint8_t> hidden;  ///< looks that nobody could tell there, for what else is said of the animal
};

/// The cases: i, that what is said holds of the i-th locus (of looks under one name: of that one first); and of looks
/// one more, that the observer erred, which says nothing of any. The sum over the cases of `chances` times the `says`
/// of all loci is how likely the statement is, given the genotypes: his doubt is counted once, however many genes he
/// chose between.
struct EitherOr {
  std::vector<double> chances;                         ///< by case; they need not sum to 1
  std::vector<std::vector<std::vector<double>>> says;  ///< by place among the loci, case and state
};
EitherOr take_apart(const Species& species, const Statement& statement, std::span<const SpokenOf> loci);

}  // namespace rackside::core::genetics
