#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/husbandry/proportion.h"
#include "core/read/reader.h"

// Questions that a keeper asks of a book, each answered by a list.
namespace rackside::core {

struct NotEaten {
  Named animal;
  std::optional<Named> place;
  std::string sex, species;
  std::optional<DayNumber> last_ate;  ///< feeding night; nothing: never by this book
  DayNumber nights = 0;               ///< since then, or since it came into the book
  int refused = 0;                    ///< nights refused since
  std::string remark;                 ///< "gravid since …", "opaque since …"
};
/// Animals that live here and have not eaten for so many nights, the longest first.
std::vector<NotEaten> not_eaten(Reader& reader, Instant now, DayNumber nights);

struct Unpaired {
  Named animal;
  std::optional<Named> place;
  std::string species, hatched;
  std::optional<std::int64_t> grams_tenths;
  std::optional<DayNumber> last_paired;  ///< before the season
};
/// Females that live here, hatched at least `years` years ago (or nobody knows when), and were with no male since
/// `since`.
std::vector<Unpaired> unpaired_females(Reader& reader, Instant now, DayNumber since, int years);

struct HelperDay {
  std::string helper;
  std::size_t entries = 0;
  std::map<std::string, std::size_t> kinds;  ///< "fed" → 12
  std::size_t animals = 0;
  std::optional<Instant> first, last;
};
/// What each helper recorded of the days from `from` to `to`, withdrawn entries left out; who did most first.
std::vector<HelperDay> done_by_helpers(Reader& reader, DayNumber from, DayNumber to);

struct Eaten {
  std::string prey;  ///< empty: nobody said what
  std::int64_t count = 0;
  std::int64_t animals = 0;
};
/// What was eaten in the feeding nights from `from` to `to`, by prey, most first. A meal told twice counts as the
/// feeding rule believes; where the entry says "as usual", the animal's own prey.
std::vector<Eaten> eaten(Reader& reader, DayNumber from, DayNumber to);

struct PairRate {
  std::string sires, dam;  ///< "K-1", or "K-1 or K-2"
  std::int64_t clutches = 0, good = 0, slugs = 0, hatched = 0;
  std::int64_t watched = 0, alive = 0;  ///< young whose first `days` days are over, and those that lived through them
  Proportion fertile, hatching, survival;
};
/// Clutches that were laid from `from` on and are done, by pair; the last row's `dam` is empty: all together. Young
/// that were sold or left count as alive on the day they went, and only if they had been watched so long.
std::vector<PairRate> pair_rates(Reader& reader, Instant now, DayNumber from, int days);

}  // namespace rackside::core
