#pragma once

#include <cstdint>
#include <string>

#include "core/genetics/catalogue.h"

// Two names of a catalogue turn out to be one. Everything is read by the names as before: nothing that was said is
// lost.
namespace rackside::core::genetics {

/// The alleles of `second` become alleles of `first`, with their looks, pairs and mistakes; what two of different loci
/// look like together is left undefined. Alleles of one name become one. `second` is gone afterwards, and later loci
/// are one number lower. Returns what stands against it, for people; empty where it was done, else the species is of no
/// use.
std::string merge_loci(Species& species, std::uint16_t first, std::uint16_t second);

/// `goes` becomes another name of `stays`, and its looks other names of the same looks. Returns what stands against it.
std::string fold_alleles(Species& species, std::uint16_t locus, AlleleIndex stays, AlleleIndex goes);

}  // namespace rackside::core::genetics
