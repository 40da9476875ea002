#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/genetics/inference.h"

// What young a pair may give. All of it rests on the joint odds of both parents: relatives are not independent, and
// what is uncertain about the parents is the same for the whole clutch.
namespace rackside::core::genetics {

using Part = Combination::Part;  ///< a look at a locus

/// The young at one locus, one living young for itself.
struct LocusForecast {
  std::uint16_t locus = 0;
  std::vector<double> states;  ///< chances of a living young's genotypes
  std::vector<double> looks;
  double lost = 0;  ///< share of the eggs that does not live because of this locus
  /// Chance that young of this look carry the allele without showing all of it (one copy); nothing where none look so.
  std::vector<std::vector<std::optional<double>>> het_given_look;  ///< by look, allele
};

/// One row of the table of visuals.
struct LookRow {
  std::vector<Part> looks;  ///< other than normal, by locus; empty: normal throughout
  double chance = 0;        ///< of a living young
  Sex sex = Sex::unknown;   ///< that of the young of this row; unknown: both have the same chances
  /// Chance that young of this row carry the allele without showing all of it (one copy), by place in Forecast::loci
  /// and allele: given all that the row shows, for what one locus shows may tell which parent has what at another.
  std::vector<std::vector<double>> het;
};

struct Harm {
  std::uint16_t locus = 0;
  std::string pair;  ///< "spider/normal"
  std::string what;  ///< may be empty of what is lethal
  std::string source;
  double chance = 0;  ///< of an egg
  bool lethal = false;
  bool established = false;  ///< by a published source; else by what most say
};

struct Forecast {
  std::vector<LocusForecast> loci;  ///< those at which the young may differ from normal
  std::vector<LookRow> rows;  ///< likeliest first; of rows under `kLeastRow` only the sum is kept. Where a gene is
                              ///< sex-linked and it matters, also to what does not show, males and females
                              ///< have rows of their own.
  double rest = 0;
  double lost = 0;  ///< share of eggs that does not live
  std::vector<Harm> harms;
  double error = 0;                       ///< standard error of the chances, the largest; 0: all are exact
  std::vector<std::uint16_t> unanswered;  ///< loci at which a parent's odds cannot be told
};
constexpr double kLeastRow = 1e-6;
constexpr std::size_t kMostRows = 4096;

/// Requires a sire that can be male and a dam that can be female; else `unanswered` names all loci.
Forecast forecast(const Inference& inference, AnimalIndex sire, AnimalIndex dam);

/// Of a clutch: how many of the wanted looks, all parts at once on one young.
struct ClutchOdds {
  double each = 0;          ///< chance of one living young
  double at_least_one = 0;  ///< among `young`
  double expected = 0;
  unsigned low = 0, high = 0;  ///< at least nine times in ten the number lies between
  double error = 0;            ///< standard error of `each` and `at_least_one`, the larger; 0: exact
};
/// nullopt where there is no answer.
std::optional<ClutchOdds> clutch_odds(const Inference& inference, AnimalIndex sire, AnimalIndex dam,
                                      std::span<const Part> wanted, unsigned young);

/// The looks of young that prove that the animal carries the allele: only a copy of its own explains them, whatever the
/// mate may carry. Of a recessive allele with a mate that carries it the visual one; with a mate that shows an
/// incomplete one the look of two copies; with a normal mate that of one copy. Empty where no young proves anything.
std::vector<std::uint8_t> proving_looks(const Inference& inference, AnimalIndex animal, AnimalIndex mate,
                                        AlleleRef allele);
/// After how many living young, none of which has a proving look, the animal is free of the allele with this chance;
/// nullopt where the mate proves nothing, or not within kMostYoung. 0: it is free of it as surely already.
constexpr unsigned kMostYoung = 1000;
std::optional<unsigned> young_to_prove(const Inference& inference, AnimalIndex animal, AnimalIndex mate,
                                       AlleleRef allele, double surety);
/// The chance that it carries after so many young without a proving look.
std::optional<double> carrier_after(const Inference& inference, AnimalIndex animal, AnimalIndex mate, AlleleRef allele,
                                    unsigned young);

}  // namespace rackside::core::genetics
