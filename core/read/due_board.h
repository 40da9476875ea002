#pragma once

#include <string>
#include <vector>

#include "core/husbandry/plan.h"
#include "core/husbandry/season.h"
#include "core/read/care.h"
#include "core/read/reader.h"

namespace rackside::core {

/// What the day's list reads of one animal, before the day is known.
struct BoardRow {
  Thing animal = 0;
  AnimalFacts facts;  ///< without `interval`; what lapses with time stands in it however long ago
  std::string code;
  std::string label;  ///< its short ID; empty: the code
  std::string every;  ///< fields of the register, empty when unknown
  std::string hatched;
  std::string prey;
  std::string species;
  std::string sex;
  std::string plan;     ///< the class that it is fed by
  SeasonRecord season;  ///< empty for males
};

/// Reads it from the animal's accounts. `now` only spares the reading of what is long past.
BoardRow work_out(Reader& reader, const CareSettings& settings, Thing animal, Instant now);

/// The rows of all registered animals. A book keeps them from one day's list to the next (table `due`), and the fold
/// throws away those of animals of which it learns something; these are worked out again here, and kept where they are
/// many (fewer than `worth_keeping` are not worth a wait for the disk) and nobody else is writing. Rows that were read
/// under other limits of reading are worked out again as well.
std::vector<BoardRow> due_board(Reader& reader, const CareSettings& settings, Instant now,
                                std::size_t worth_keeping = 32);

/// How it is fed on a day.
Diet diet_on(const BoardRow& row, const CareSettings& settings, DayNumber today);
/// The facts of a day: with the interval of that day, and the species' fast where it has none of its own.
AnimalFacts facts_on(const BoardRow& row, const CareSettings& settings, DayNumber today);
/// The same, put into the row itself: a list of ten thousand copies none.
void take_day(BoardRow& row, const CareSettings& settings, DayNumber today);

/// The numbers and texts of a row as table `due` holds them, and back.
std::string packed_numbers(const AnimalFacts& facts);
std::string packed_texts(const BoardRow& row);
void unpack(ByteSpan numbers, std::string_view texts, BoardRow& row);

}  // namespace rackside::core
