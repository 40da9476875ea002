#pragma once

#include <span>
#include <vector>

#include "core/genetics/inference.h"
#include "core/genetics/pairing.h"

// Which pairs reach wanted looks soonest.
namespace rackside::core::genetics {

/// A pair whose young may show all that is wanted.
struct DirectPair {
  AnimalIndex sire = kNobody;
  AnimalIndex dam = kNobody;
  double each = 0;     ///< chance of one living young
  unsigned young = 0;  ///< living young after which at least one is likely, nine times in ten
  bool exact = false;  ///< joint over both parents; else their odds were taken as independent
};

/// Over two generations: first young that show nothing or a part, then the rest.
struct TwoSteps {
  enum class Second : std::uint8_t { siblings, back_to_sire, back_to_dam, other };
  AnimalIndex sire = kNobody;
  AnimalIndex dam = kNobody;
  std::vector<Part> keep;  ///< the look of the young to keep; empty: normal ones
  double keep_each = 0;    ///< chance of one young of the first clutch
  Second second = Second::siblings;
  AnimalIndex mate = kNobody;  ///< `other`: whom the kept young is paired with
  double each = 0;             ///< chance of one young of the second clutch, over what the kept one may carry
  double young = 0;            ///< expected young of both clutches until the first of each kind
};

struct BreedingPlan {
  std::vector<DirectPair> pairs;  ///< best first
  std::vector<TwoSteps> steps;    ///< fewest expected young first; only those that beat the best pair, or all where no
                                  ///< pair does it
};

/// Among the animals that are at hand. `most` answers of either sort.
BreedingPlan plan(const Inference& inference, std::span<const AnimalIndex> males, std::span<const AnimalIndex> females,
                  std::span<const Part> wanted, std::size_t most = 10);

}  // namespace rackside::core::genetics
