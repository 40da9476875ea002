#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/husbandry/season.h"
#include "core/read/reader.h"

// Clutches, as the book knows them: from laying to the last egg.
namespace rackside::core {

/// One egg that carries a number.
struct NumberedEgg {
  std::optional<DayNumber> pipped, hatched;
};

struct Candling {
  DayNumber day = 0;
  std::optional<std::int64_t> good, bad;
};

struct Incubation {
  DayNumber day = 0;
  std::int64_t celsius_tenths = 0;
};

/// Young that hatched on a day and carry no egg's number.
struct Unnumbered {
  DayNumber day = 0;
  std::int64_t count = 0;
};

struct Clutch {
  Named dam;
  EventRef laying;  ///< the first account of it, though it was replaced since: the clutch's name in every book
  Instant laid_at = 0;
  DayNumber laid = 0;
  std::optional<std::int64_t> good, slugs;
  bool eggs_in_doubt = false;          ///< two counts; see `questions`
  std::vector<Thing> sires;            ///< males that were with her in the 180 days before, newest first
  std::vector<Incubation> incubation;  ///< oldest first
  std::vector<Candling> candlings;     ///< oldest first
  std::map<std::int64_t, NumberedEgg> eggs;
  std::vector<Unnumbered> unnumbered;  ///< hatched, as told
  std::int64_t pipped = 0;             ///< eggs, numbered or not
  std::int64_t hatched = 0;            ///< young, as the rule for hatchings believes
  bool hatched_in_doubt = false;
  std::optional<Expected> due;  ///< while something may hatch still
  std::vector<Named> young;     ///< of the register, by number
  std::optional<Named> group;   ///< young not yet told apart
  std::vector<Named> by_hand;   ///< registered otherwise, by dam and hatch date of this clutch

  /// Good eggs that are neither hatched nor found bad at the last candling.
  std::int64_t waiting() const;
  bool is_open() const { return waiting() > 0; }
};

/// All clutches that the book knows, the newest first; of one dam where one is named.
std::vector<Clutch> clutches_of(Reader& reader, Thing dam, Instant now);
std::vector<Clutch> all_clutches(Reader& reader, Instant now);
/// Those of one dam without `due`, which costs a look at every female.
std::vector<Clutch> clutches_without_windows(Reader& reader, Thing dam, Instant now);

/// "C-3 of 2026-09-01": what people call a clutch.
std::string clutch_name(const Clutch& clutch);

}  // namespace rackside::core
