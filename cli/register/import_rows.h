#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cli/register/columns.h"
#include "cli/register/dates.h"
#include "core/log/value.h"

// From a table's text to the animals that it tells of, before anybody looks into a book. Pure.
namespace rackside::cli {

struct Problem {
  std::size_t line = 0;
  std::string text;    ///< for people, without the final full stop
  bool doubt = false;  ///< may be true as it stands: the keeper can say so (--even-so)
};

struct ImportedAnimal {
  std::size_t line = 0;
  std::string short_id, name, species, sex, prey, every, place, sire, dam, supplier, last_prey, with, remedy, note;
  std::optional<TableDate> hatched, acquired;
  std::optional<core::DayNumber> last_meal, weighed, paired, gravid, laid, treated_on, sold, left, died;
  std::optional<std::int64_t> grams_tenths;
  std::optional<int> good, slugs;
  bool is_gravid = false, is_held = false;
  std::vector<core::Value> genes;  ///< each the own fields of a `says`, without its basis

  bool is_here() const { return !left && !died; }
  /// All whole days that the row names after its hatching, with the words for them.
  std::vector<std::pair<core::DayNumber, std::string_view>> days() const;
};

struct ImportedTable {
  ColumnPlan columns;
  std::string_view encoding;
  char separator = ',';
  DateOrder order = DateOrder::unsettled;
  std::vector<ImportedAnimal> animals;
  std::vector<Problem> problems;  ///< by line
};

struct TableWishes {
  ColumnWishes now, before;
  DateOrder order = DateOrder::unsettled;
  core::DayNumber today = 0;
};

/// Reads the whole table whatever is wrong with it, so that one run lists every problem. What it finds out by itself:
/// encoding, separator, the order of days and months (from the dates that only read one way). Of a row it checks each
/// cell, and that its days follow one another: hatched, acquired, what happened, sold, left or died, none in the
/// future. Errors: bad_input where the text is no table at all.
ImportedTable read_animals(std::string_view bytes, const TableWishes& wishes);

/// "66 % het stripe" as the own fields of a statement, without its basis.
core::Value gene_in_words(const std::string& text);

}  // namespace rackside::cli
