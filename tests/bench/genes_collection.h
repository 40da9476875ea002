#pragma once

#include <cstdint>
#include <memory>
#include <vector>

#include "core/genetics/collection.h"
#include "core/genetics/kinship.h"

namespace rackside::bench {

/// An invented collection over generations, drawn with a fixed seed: founders of which some carry, bought as visual,
/// het or possible het; every animal looked at by somebody who is sure; clutches of 6 to 16, of which a few have two
/// possible sires; breeders of every generation chosen at random, visuals of recessive genes three times as often,
/// relatives not avoided.
struct GenesPlan {
  unsigned animals = 10'000;
  unsigned generations = 12;
  unsigned loci = 40;  ///< of ten, eight recessive, one incomplete dominant, one recessive series of two
  unsigned clutches_of_two_sires = 20;  ///< one clutch in so many
};
struct GenesCollection {
  std::shared_ptr<core::genetics::Species> species;
  core::genetics::Collection collection;  ///< the last clutch at the end
  std::size_t before_last_clutch = 0;     ///< number of animals without it
  std::size_t sirings_before = 0;
  std::size_t statements_before = 0;
};
GenesCollection make_genes(const GenesPlan& plan);

/// A pedigree of as many animals over 20 generations, parents chosen among the generation before.
std::vector<core::genetics::Parents> make_pedigree(unsigned animals);

}  // namespace rackside::bench
