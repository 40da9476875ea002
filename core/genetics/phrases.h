#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/genetics/catalogue.h"
#include "core/genetics/pairing.h"
#include "core/genetics/states.h"

// Genotypes and chances in the trade's words.
namespace rackside::core::genetics {

/// "amel", "het amel", "motley (motley stripe compound), het stripe", "het motley and het stripe", "normal": what an
/// animal of this genotype is called. Where one copy looks as two do, it says which: "spider, one copy".
std::string phrase_of(const Species& species, std::uint16_t locus, const States& states, std::size_t state);

struct Chance {
  std::string phrase;
  double chance = 0;
  bool carries = false;  ///< something other than the wild type
};
/// An animal's genotypes at one locus, likeliest first, alike phrases together, those under `least` left out.
std::vector<Chance> chances_of(const Species& species, std::uint16_t locus, const States& states,
                               const std::vector<double>& odds, double least = 5e-5);

/// What young of a row look like: "amel anery (snow)", "normal".
std::string name_of(const Species& species, const LookRow& row);
/// An animal of this look shows the allele, with one copy or in a compound: no "het" is said of it.
bool is_shown(const Locus& locus, std::uint8_t look, AlleleIndex allele);
/// What they carry unseen, each "het …" with its chance; what no half per cent carries is left out. Where that makes a
/// compound with a name of its own, the name stands behind it: "het stripe (motley stripe compound)".
std::vector<Chance> carried_unseen(const Species& species, const Forecast& forecast, const LookRow& row);

/// "66.7 %", "0.04 %", "over 99.99 %", "under 0.01 %": certain only where it is. `digits`: at most, behind the point,
/// between 1 and 99 per cent.
std::string percent(double chance, int digits = 1);

/// The figure that cards and sale labels carry for a chance: the trade's 33, 50, 66 for a third, a half and two
/// thirds, else whole per cent, always rounded down: a card never promises more than the odds support.
unsigned card_percent(double chance);

}  // namespace rackside::core::genetics
