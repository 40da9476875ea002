#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/genetics/catalogue.h"

namespace rackside::core::genetics {

struct CatalogueError {
  unsigned line = 0;  ///< from 1
  std::string message;
};

struct CatalogueRead {
  Species species;
  std::vector<CatalogueError> errors;
  bool good() const { return errors.empty(); }
};

/// Reads one species. All errors are found, not only the first; with errors the species is not to be used.
///
/// The form: one thing a line, its first word says what. `#` begins a comment, indentation is free, names may hold
/// spaces and are separated by commas.
///
///     rackside genes 1                    the first line
///     species corn snake, Pantherophis guttatus
///     also red rat snake                  further names of the species, locus or allele above it
///     sexes ZW                            XY, ZW or unknown
///     source TEXT | practice [TEXT] | memory [TEXT]      of what stands above: every locus has one
///     sure 1                              chance that a look is what an observer who is sure, or who only thinks so,
///     says think-so 0.9 locus NAME                          has the allele "normal" from the start linkage autosomal |
///     sex-linked RECOMBINATION | hemizygous      of the locus; autosomal where nothing is said allele NAME, recessive
///     two copies look NAME, one is not seen allele NAME, dominant               one copy and two look NAME allele
///     NAME, incomplete, SUPER      one copy looks NAME, two look SUPER frequency 0.01                      of the
///     allele among founders of whom nothing is known; 0 where nothing is said pair ALLELE, ALLELE, LOOK[, NAME]   what
///     two alleles that are not normal look like together: needed for each two lethal ALLELE, ALLELE               the
///     pair does not live harm ALLELE, ALLELE, TEXT           the pair hurts the animal mistaken LOOK, LOOK, 0.2 a
///     "think so" about the first look names the second with this chance combination NAME = LOOK + LOOK …    a name for
///     several looks; `harm TEXT` may follow
///
/// A look is named after its allele; where two loci have one of the same name write LOCUS/LOOK.
CatalogueRead read_catalogue(std::string_view text);

struct ShippedCatalogue {
  std::string_view name;  ///< of the file
  std::string_view text;
};
/// The species that come with the program: core/genetics/species.
std::span<const ShippedCatalogue> shipped_catalogues();

}  // namespace rackside::core::genetics
