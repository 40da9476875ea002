#pragma once

#include <memory>
#include <span>
#include <vector>

#include "core/genetics/collection.h"
#include "core/genetics/evidence.h"
#include "core/genetics/states.h"

namespace rackside::core::genetics {

/// How an answer was found.
enum class Way : std::uint8_t {
  exact,
  sampled,    ///< too many loops for the exact way; error() says how far off it may be
  no_answer,  ///< what was recorded cannot all be true; a problem names it
};

/// What two animals can be together at one locus: `chances[i * states + j]` for state i of the first and j of the
/// second.
struct Joint {
  std::vector<double> chances;
  double draws = 0;  ///< 0: exact; else they rest on draws that tell as much as so many independent ones
};

/// The chances of every genotype of every animal at every locus, given all statements about all of them.
///
/// Young take each parent's alleles by Mendel's law, loci independently of one another; sex-linked loci recombine with
/// what decides the sex, not with one another. Animals that are in the book lived, so non-viable genotypes are excluded
/// beforehand. One siring, the sex of an unsexed animal and a look that two genes share are each one variable over all
/// loci.
///
/// Exact: certain genotypes are found first by propagation and cut the pedigree; what is left is solved component by
/// component by variable elimination, loops included, while no table passes Elimination::kLargestTable.
/// Thread: one at a time. Pure: the same collection gives the same answers, whatever the order of its statements.
class Inference {
 public:
  explicit Inference(std::shared_ptr<const Species> species, Settings settings = {});
  ~Inference();
  Inference(Inference&&) noexcept;
  Inference& operator=(Inference&&) noexcept;

  /// Answers for a collection, forgetting what was before.
  void load(const Collection& collection);
  /// Answers for a collection that begins with the loaded one and has more animals, sirings and statements at its ends:
  /// computes only what these touch.
  void extend(const Collection& collection);

  const Species& species() const;
  const States& states(std::uint16_t locus) const;
  std::size_t animals() const;
  /// Of each state; empty where there is no answer.
  std::vector<double> odds(AnimalIndex animal, std::uint16_t locus) const;
  Way way(AnimalIndex animal, std::uint16_t locus) const;
  /// Standard error of the sampled chances, the largest of the animal's states; 0 for exact ones.
  double error(AnimalIndex animal, std::uint16_t locus) const;
  /// Of the possible sires, in their order.
  std::vector<double> siring(SiringIndex siring) const;

  /// Given all statements, joint over both animals: relatives are not independent. With `given` only for one value of
  /// each shared variable that linked_by() names. Where the odds are sampled, from the kept draws, fitted to the odds
  /// of both animals. Empty where there is no answer.
  Joint joint(AnimalIndex first, AnimalIndex second, std::uint16_t locus) const;

  /// Cases that make the loci independent of one another for these two animals: each has its chance, and the joint
  /// chances at each asked locus. One case unless a siring, a sex or a shared look ties loci together; where loci that
  /// are tied are sampled, each kept draw is one.
  struct Case {
    double chance = 1;
    std::vector<Joint> at;  ///< by position in the asked loci
  };
  std::vector<Case> cases(AnimalIndex first, AnimalIndex second, std::span<const std::uint16_t> loci) const;

  const std::vector<Problem>& problems() const;
  /// Of everything that was said; of the last load() only. Minus infinity where something has no answer.
  double log_likelihood() const;

  struct Effort {
    std::size_t components = 0;
    std::size_t variables = 0;
    std::uint64_t largest_table = 0;
    std::size_t sampled = 0;  ///< components
    std::size_t alone = 0;    ///< genotypes that hang on nothing uncertain
  };
  /// Of the last load() or extend().
  const Effort& effort() const;

 private:
  class Work;
  std::unique_ptr<Work> work_;
};

}  // namespace rackside::core::genetics
