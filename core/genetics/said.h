#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/genetics/collection.h"

// From the words of a statement, as the log keeps them, to what they say of genotypes in one species' catalogue.
namespace rackside::core::genetics {

/// The words of one statement about an animal. `state`, one of `gene_states()`; `genes`, the gene or, where the eye
/// could not decide between some, all of them.
struct SaidOfGene {
  std::string_view state;
  std::vector<std::string> genes;
  std::string_view basis;        ///< one of `bases()`; others count as bought
  std::string_view certainty;    ///< sure, think-so, cannot-tell; empty: sure
  unsigned chance_percent = 50;  ///< of possible-het; 66 and 67 mean two thirds, 33 one third
};

struct GeneState {
  std::string_view word;
  std::string_view meaning;  ///< for help texts
};
std::span<const GeneState> gene_states();
std::span<const std::string_view> bases();
std::span<const std::string_view> certainties();

/// A name of several genes is one of them, nobody knows which: a statement with options at several loci.
struct Understood {
  std::vector<Statement> statements;  ///< several where a name stands for several looks together
  std::string problem;                ///< for people; empty where it was understood
};
Understood understand(const Species& species, const SaidOfGene& said);

/// For people: "“hypo” is the name of several genes: say hypomelanism/hypo or second hypo/hypo B."
std::string several_genes(const Species& species, std::string_view name);

/// The one allele of that name; nullopt where there is none or are several: `problem` then says which and why.
std::optional<AlleleRef> allele_named(const Species& species, std::string_view name, std::string& problem);

/// Looks that a name can mean: at one locus or, where the trade calls two genes alike, at several. `LOCUS/LOOK` names
/// one of them. Empty where the catalogue has none of that name.
std::vector<Option> looks_named(const Species& species, std::string_view name);
/// Alleles that a name can mean; `LOCUS/ALLELE` names one of them.
std::vector<AlleleRef> alleles_named(const Species& species, std::string_view name);
/// The parts of a look, or of a combination that the keeper named; "amel + anery" are two. Empty where a part is not
/// in the catalogue or can be at several loci; `problem` then says which and why.
std::vector<Combination::Part> parts_named(const Species& species, std::string_view names, std::string& problem);

/// The nearest names of the catalogue, for "did you mean"; best first, at most three.
std::vector<std::string> names_near(const Species& species, std::string_view name);

/// A look as people say it: "amel", "motley"; "LOCUS/LOOK" where that is a name at two loci.
std::string look_name(const Species& species, Combination::Part part);
/// An allele likewise.
std::string allele_name(const Species& species, AlleleRef ref);

}  // namespace rackside::core::genetics
