#pragma once

#include <memory>
#include <string>

#include "core/genetics/catalogue_text.h"
#include "core/genetics/inference.h"
#include "tests/support/catch.h"

namespace rackside::tests {

/// A small pedigree told in words of the trade.
class Tale {
 public:
  explicit Tale(const std::string& catalogue) {
    auto read = core::genetics::read_catalogue("rackside genes 1\nspecies invented snake, Serpens ficta\n" + catalogue);
    for (const auto& error : read.errors) FAIL("line " << error.line << ": " << error.message);
    species = std::make_shared<core::genetics::Species>(std::move(read.species));
  }

  using Index = core::genetics::AnimalIndex;
  Index male() { return add({.sex = core::genetics::Sex::male}); }
  Index female() { return add({.sex = core::genetics::Sex::female}); }
  Index young(Index sire, Index dam, core::genetics::Sex sex = core::genetics::Sex::unknown) {
    collection.sirings.push_back({{{sire, 1}}, 0});
    return add({.sex = sex, .dam = dam, .siring = static_cast<std::uint32_t>(collection.sirings.size() - 1)});
  }
  void says(Index animal, core::genetics::Says what, const std::string& allele, double chance = 1) {
    const auto found = species->find_allele(allele);
    REQUIRE(found.size() == 1);
    const auto& locus = species->loci[found[0].locus];
    const auto look = locus.pair(found[0].allele, found[0].allele).look;
    collection.statements.push_back({.animal = animal,
                                     .basis = core::genetics::Basis::bought,
                                     .says = what,
                                     .chance = chance,
                                     .options = {{found[0].locus, look, found[0].allele, core::genetics::kWild}}});
  }
  void het(Index animal, const std::string& allele) { says(animal, core::genetics::Says::het, allele); }
  void visual(Index animal, const std::string& allele) { says(animal, core::genetics::Says::looks, allele); }
  void free_of(Index animal, const std::string& allele) { says(animal, core::genetics::Says::free_of, allele); }
  void possible(Index animal, const std::string& allele, double chance) {
    says(animal, core::genetics::Says::possible, allele, chance);
  }
  void looks_normal(Index animal) {
    collection.statements.push_back({.animal = animal, .says = core::genetics::Says::nothing_else});
  }

  core::genetics::Inference infer() const {
    core::genetics::Inference out(species);
    out.load(collection);
    return out;
  }
  /// The chance of at least one copy.
  double carries(const core::genetics::Inference& inference, Index animal, const std::string& allele) const {
    const auto ref = species->find_allele(allele).front();
    const auto odds = inference.odds(animal, ref.locus);
    double out = 0;
    for (std::size_t i = 0; i < odds.size(); ++i) {
      if (inference.states(ref.locus).copies(i, ref.allele) > 0) out += odds[i];
    }
    return out;
  }

  std::shared_ptr<core::genetics::Species> species;
  core::genetics::Collection collection;

 private:
  Index add(const core::genetics::Animal& animal) {
    collection.animals.push_back(animal);
    return static_cast<Index>(collection.animals.size() - 1);
  }
};

inline bool nearly(double a, double b) {
  return std::abs(a - b) < 1e-12;
}

}  // namespace rackside::tests
