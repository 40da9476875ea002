#pragma once

#include <span>
#include <vector>

#include "core/genetics/collection.h"

namespace rackside::core::genetics {

struct Parents {
  AnimalIndex sire = kNobody;
  AnimalIndex dam = kNobody;
};

/// Of all animals. Of several possible sires none is the ancestor that descent can be reckoned through; nor are the
/// parents of an animal that is among its own ancestors.
std::vector<Parents> parents_of(const Collection& collection);

/// Some ancestor of the two, or they themselves, have a sire of whom only several possible ones are known: their
/// kinship is then at least what is reckoned.
bool rests_on_possible_sires(const Collection& collection, AnimalIndex first, AnimalIndex second);

/// How closely animals are related by descent, by the coefficient of kinship (coancestry): unknown parents count as
/// unrelated to all.
/// Source: Wright 1922; the way over the ancestors of one animal at a time by Meuwissen and Luo 1992, Genet Sel Evol
/// 24:305.
class Kinship {
 public:
  /// Parents may stand anywhere in the list. Throws bad_input where an animal is its own ancestor (inference names it).
  explicit Kinship(std::span<const Parents> parents);

  /// Chance that both alleles of the animal, at any locus that is not sex-linked, come from one allele of one ancestor.
  double inbreeding(AnimalIndex animal) const { return inbreeding_[animal]; }
  /// The inbreeding that young of these two would have; of an animal with itself (1 + F) / 2.
  double kinship(AnimalIndex first, AnimalIndex second) const;

 private:
  double of_young(AnimalIndex sire, AnimalIndex dam) const;
  double own_share(AnimalIndex sire, AnimalIndex dam) const;
  void add(AnimalIndex animal, double share) const;

  std::vector<Parents> parents_;
  std::vector<AnimalIndex> order_;       ///< parents first
  std::vector<std::uint32_t> position_;  ///< in it
  std::vector<double> inbreeding_;
  mutable std::vector<double> share_;        ///< by position, of the animal at hand
  mutable std::vector<std::uint64_t> open_;  ///< positions still to be looked at, a bit each
};

}  // namespace rackside::core::genetics
