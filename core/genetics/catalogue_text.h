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
/// spaces and are separated by commas. The first line is `rackside genes 1`. The words:
///
/// - `species corn snake, Pantherophis guttatus`: common and Latin name.
/// - `also red rat snake`: further names of the species, locus or allele above it.
/// - `sexes ZW`: XY, ZW or unknown.
/// - `source TEXT`, `practice [TEXT]` or `memory [TEXT]`: where what stands above comes from; every locus has one.
/// - `sure 1`, `think-so 0.9`: chance that a look is what an observer who is sure, or who only thinks so, says.
/// - `locus NAME`: has the allele "normal" from the start.
/// - `linkage autosomal`, `linkage sex-linked RECOMBINATION` or `linkage hemizygous`: of the locus; autosomal where
///   nothing is said.
/// - `allele NAME, recessive`: two copies look NAME, one is not seen. `allele NAME, dominant`: one copy and two look
///   NAME. `allele NAME, incomplete, SUPER`: one copy looks NAME, two look SUPER.
/// - `frequency 0.01`: of the allele among founders of whom nothing is known; 0 where nothing is said.
/// - `pair ALLELE, ALLELE, LOOK[, NAME]`: what two alleles that are not normal look like together; needed for each two.
/// - `lethal ALLELE, ALLELE`: the pair does not live. `harm ALLELE, ALLELE, TEXT`: it hurts the animal.
/// - `mistaken LOOK, LOOK, 0.2`: a "think so" about the first look names the second with this chance.
/// - `hides LOOK, LOOK`: on an animal that shows the first nobody can tell the second.
/// - `combination NAME = LOOK + LOOK …`: a name for several looks; `harm TEXT` may follow.
///
/// What breeding tells later of names. The entries stay as they are, and so does all that was said of animals: it is
/// read by these lines, and by the old meaning when they are taken out again. Each wants its source.
///
/// - `merge LOCUS, LOCUS`: the two are one locus, the second's alleles are alleles of the first. `pair` says what two
/// of
///   them look like together, `same ALLELE, ALLELE` that they are one allele: the second is another name of the first.
/// - `split NAME = ALLELE, ALLELE …`: NAME was the name of several genes. Whatever was said of NAME is of one of them,
///   nobody knows which, and is weighed over all.
///
/// A look is named after its allele; where two loci have one of the same name write LOCUS/LOOK, LOCUS/ALLELE.
CatalogueRead read_catalogue(std::string_view text);

struct ShippedCatalogue {
  std::string_view name;  ///< of the file
  std::string_view text;
};
/// The species that come with the program: core/genetics/species.
std::span<const ShippedCatalogue> shipped_catalogues();

}  // namespace rackside::core::genetics
