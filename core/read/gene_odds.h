#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "core/read/lineage.h"

// The odds of every gene of every animal of a book, and what pairs of them may give, for those who show them again and
// again: what was read and reckoned is kept, and does not change with the book.
namespace rackside::core {

/// A chance in millionths: 1 000 000 and 0 only for what is certain.
using Millionths = std::int64_t;
Millionths in_millionths(double chance);

struct GeneChance {
  Millionths chance = 0;
  std::string phrase;  ///< "amel", "het anery"
};

/// What one animal carries at one locus, other than normal.
struct LocusOdds {
  std::string locus;
  std::vector<GeneChance> chances;  ///< likeliest first; what is under half a per cent is left out
  bool sampled = false;             ///< about so
  bool no_answer = false;           ///< what was recorded cannot all be true
};

/// What a pair may give.
struct PairOdds {
  Thing sire = 0;
  Thing dam = 0;
  std::string species;
  struct Young {
    Millionths chance = 0;
    std::string look;                            ///< "amel anery (snow)"
    genetics::Sex sex = genetics::Sex::unknown;  ///< of its young only, where males and females differ
    std::vector<GeneChance> carries;             ///< unseen
  };
  std::vector<Young> young;  ///< likeliest first, at most kMostYoungShown
  Millionths rest = 0;       ///< others, each rarer
  Millionths lost = 0;       ///< share of the eggs that does not live for its genes
  Millionths error = 0;      ///< standard error of these chances; 0: exact
  struct Harm {
    std::string pair;
    std::string what;
    std::string source;
    Millionths chance = 0;  ///< of an egg
    bool lethal = false;
    bool established = false;  ///< by a published source; else by what most say
  };
  std::vector<Harm> harms;
  Millionths inbreeding = 0;            ///< of the young, by the parents that the book knows
  bool parents_known = false;           ///< of both the book knows at least one parent
  bool at_least = false;                ///< `inbreeding`: an ancestor's sire is one of several
  std::vector<std::string> unanswered;  ///< loci of which nothing can be told
  std::size_t problems = 0;             ///< records of the species that cannot all be true
};
constexpr std::size_t kMostYoungShown = 24;

/// Thread: one at a time.
class GeneOdds {
 public:
  /// Reads and reckons all species: milliseconds for hundreds of animals, seconds for ten thousand.
  explicit GeneOdds(Reader& reader);
  ~GeneOdds();

  /// Animals of which something other than normal is known or possible, with it, as `worth` says.
  struct AnimalOdds {
    Thing animal = 0;
    std::vector<LocusOdds> loci;
  };
  std::vector<AnimalOdds> all() const;
  std::vector<LocusOdds> of(Thing animal) const;

  /// Whichever is named first. Errors: bad_input (one animal twice, two of one known sex, two species, a species that
  /// is unknown or has no catalogue, an animal that is its own ancestor).
  PairOdds pair(Thing first, Thing second) const;

 private:
  struct Work;
  std::unique_ptr<Work> work_;
};

/// Changes when anything changes on which the odds rest: descent, statements, sexes, species, hatch days, catalogues.
/// Costs a read of those fields, no reckoning.
std::uint64_t gene_fingerprint(Book& book);

}  // namespace rackside::core
