#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "core/genetics/collection.h"
#include "core/genetics/states.h"

namespace rackside::core::genetics {

struct Settings {
  /// Our choice, no source. Share of an allele that a founder's own statements name, where the catalogue gives none:
  /// weighs one copy against two.
  double mentioned_frequency = 0.1;
  /// Our choice, no source. Share of an allele in founders that must carry what nobody knew of, when nothing else
  /// explains a young.
  double hidden_frequency = 0.001;
  /// The exact way is taken while no table of it has more entries than this.
  std::uint64_t largest_table = std::uint64_t{1} << 20;
  /// Sampling where the exact way would be too wide: rounds of draws, and 0 for no answer instead.
  unsigned sweeps = 150;
};

/// How likely the statement is for each genotype of one of the loci it is about, when it speaks of this locus.
/// `options` are those of the statement at this locus; for nothing_else, and at a locus that an either-or rules out,
/// none. `hidden` are the looks that nobody could tell on this animal: not to have named them says nothing.
std::vector<double> likelihood(const Species& species, std::uint16_t locus, const States& states,
                               const Statement& statement, std::span<const Option> options,
                               std::span<const std::uint8_t> hidden = {});

/// The looks at the locus that cannot be told on an animal of which this is said, by the catalogue.
std::vector<std::uint8_t> hidden_looks(const Species& species, std::uint16_t locus,
                                       std::span<const Statement* const> of_animal);
/// Whether "nothing else" is silent about the locus: a look there was recorded, or its author could not tell one.
bool is_silent(const Statement& nothing_else, std::uint16_t locus, std::span<const Statement* const> of_animal);
/// Whether who calls a look unseen there said as surely that nothing shows: the same word twice.
bool is_said_already(const Statement& unseen, std::uint16_t locus, std::span<const Statement* const> of_animal);

/// Whether this statement weighs on the posterior at all. What parentage promised is what the pedigree says anyway, and
/// a "possible" about an animal with parents in the book is such a promise.
bool is_evidence(const Statement& statement, bool founder);

/// What is believed of a founder (`self`; kNobody: a stand-in) before its look is weighed. Alleles that the statements
/// name, its own or those of young through which it is known, may be there; a "possible" is taken at its word; others
/// are as frequent as the catalogue says (or as `hidden` says). Looks that are named of itself, and the normal one, are
/// equally likely.
std::vector<double> founder_chances(const Species& species, std::uint16_t locus, const States& states, AnimalIndex self,
                                    std::span<const Statement* const> statements, const Settings& settings,
                                    bool hidden);

/// Alleles that the statement says or thinks to be there.
std::vector<AlleleRef> mentioned_alleles(const Species& species, const Statement& statement);

/// The same thing said by the same author: counts once.
bool same_statement(const Statement& a, const Statement& b);
/// Refers to nothing that is not there.
bool refers_to_known(const Species& species, std::size_t animals, const Statement& statement);

}  // namespace rackside::core::genetics
