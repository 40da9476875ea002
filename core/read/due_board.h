#pragma once

#include <string>
#include <vector>

#include "core/husbandry/plan.h"
#include "core/read/reader.h"

namespace rackside::core {

/// What the day's list reads of one animal, before the day is known.
struct BoardRow {
  Thing animal = 0;
  AnimalFacts facts;  ///< without `interval`; `opaque` however long ago
  std::string every;  ///< fields, empty when unknown
  std::string hatched;
  std::string prey;
};

/// Reads it from the animal's accounts. `now` only spares the reading of what is long past.
BoardRow work_out(Reader& reader, Thing animal, Instant now);

/// The rows of all registered animals. A book keeps them from one day's list to the next (table `due`), and the fold
/// throws away those of animals of which it learns something; these are worked out again here, and kept where they are
/// many (fewer than `worth_keeping` are not worth a wait for the disk) and nobody else is writing.
std::vector<BoardRow> due_board(Reader& reader, Instant now, std::size_t worth_keeping = 32);

/// The facts of a day: with the interval of that day, and without what has lapsed by then.
AnimalFacts facts_on(const BoardRow& row, const Zone& zone, Instant now);

}  // namespace rackside::core
