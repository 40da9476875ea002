#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/husbandry/plan.h"
#include "core/read/reader.h"

namespace rackside::core {

struct TodayLine {
  Named animal;
  std::optional<Named> place;  ///< where it is found now
  DueLine due;
  std::string prey;  ///< what it usually gets
};

struct TodayRack {
  std::optional<Named> rack;  ///< empty: animals without a place
  bool quarantine = false;
  std::vector<TodayLine> lines;  ///< in walking order
};

/// The day's list: by rack in the order of the walk, quarantine last.
struct Today {
  DayNumber night = 0;
  std::vector<TodayRack> racks;
  std::size_t animals = 0;  ///< living here
  std::size_t count(Due due) const;
};

Today today_list(Reader& reader, Instant now);

/// How many questions are open, without reading them.
std::size_t count_open_questions(Reader& reader);

/// What the rules of the day read of one animal.
AnimalFacts facts_of(Reader& reader, Thing animal, Instant now);

/// Due lines of one animal, company included: what a scan shows.
std::vector<DueLine> due_at_tub(Reader& reader, Thing animal, Instant now);

}  // namespace rackside::core
