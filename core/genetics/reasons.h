#pragma once

#include <memory>
#include <vector>

#include "core/genetics/collection.h"
#include "core/genetics/evidence.h"

// Which records made an animal's odds what they are.
namespace rackside::core::genetics {

/// A part of a collection: some animals, and what was said of them. Parents outside are unknown.
struct Family {
  Collection collection;
  std::vector<AnimalIndex> original;  ///< by the part's own index
  AnimalIndex centre = kNobody;       ///< in the part
};
/// `near_ones`: the animals within so many steps from parent to young or back, mates being two steps away. Nearest
/// first; at most `most`, so that a prolific sire does not bring in everybody. `part_of`: any members, the centre among
/// them.
Family part_of(const Collection& collection, std::vector<AnimalIndex> members, AnimalIndex centre);
std::vector<AnimalIndex> near_ones(const Collection& collection, AnimalIndex centre, unsigned steps, std::size_t most);
/// The parents, possible ones too, and the young of each animal: for those who ask for many.
using Ties = std::vector<std::vector<AnimalIndex>>;
Ties ties_of(const Collection& collection);
std::vector<AnimalIndex> near_ones(const Ties& ties, AnimalIndex centre, unsigned steps, std::size_t most);
Family family_of(const Collection& collection, AnimalIndex centre, unsigned steps, std::size_t most = 400);

/// What one record did to an animal's odds at a locus.
struct Reason {
  RecordId record = 0;
  AnimalIndex about = kNobody;
  bool parentage = false;       ///< the record says who the parents are
  std::vector<double> without;  ///< the odds as they would be if nobody had recorded it
  double weight = 0;            ///< half the summed differences, 0 to 1
};

/// The records that move the odds most, each left out in turn, heaviest first; those that move them by under `least`
/// are not told. Reckoned within the animal's family, which is exact for what its members say.
std::vector<Reason> reasons_for(const std::shared_ptr<const Species>& species, const Collection& collection,
                                AnimalIndex animal, std::uint16_t locus, const Settings& settings = {},
                                double least = 0.005);

}  // namespace rackside::core::genetics
