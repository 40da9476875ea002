#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/genetics/inference.h"

// What paper may say of an animal's genes: never more than the odds support.
namespace rackside::core::genetics {

/// How a claim stands against the odds.
enum class PaperStanding : std::uint8_t {
  stands,
  weaker,        ///< the odds support less than was said: paper gives theirs
  contradicted,  ///< next to nothing supports it, or what was recorded cannot all be true
};
/// A claim of at least this chance, said without a chance, stays one (our choice, no source).
constexpr double kCertainOnPaper = 0.95;
/// Chances under this are not worth a line, and a claim that fell so low is contradicted (our choice, no source).
constexpr double kLeastOnPaper = 0.05;
/// What was drawn, and what an eye was not sure of, is never certain on paper (our choice, no source).
constexpr double kMostDrawn = 0.99;

/// `promised`: 1 for what was said without a chance. `supported`: of supported().
PaperStanding standing_of(double promised, std::optional<double> supported);

/// The chance that what a statement claims is so, given everything recorded. One of several looks counts as theirs
/// together. Empty where there is no answer, and for statements that paper does not repeat (normal, unseen, not).
std::optional<double> supported(const Inference& inference, const Statement& statement);

/// The same, less the error that a drawn chance is told with: what paper may say. Under 1 where it is drawn.
std::optional<double> surely_supported(const Inference& inference, const Statement& statement);

/// What descent alone lets paper say at one locus.
struct Inherited {
  std::uint16_t locus = 0;
  AlleleIndex allele = 0;  ///< that is carried unseen; 0 where `phrase` names what is seen
  std::string phrase;      ///< "amel", "het anery"
  double chance = 1;       ///< 1: certain; less its error where it is drawn
};
/// Of an animal with parents: looks and genotypes that are certain, and alleles that it carries unseen with at least
/// kLeastOnPaper. Of a locus whose look nobody described nothing is said unless it is certain.
std::vector<Inherited> inherited(const Inference& inference, AnimalIndex animal);

}  // namespace rackside::core::genetics
