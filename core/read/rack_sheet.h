#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/read/today.h"

namespace rackside::core {

/// One animal of a rack as a paper sheet shows it: due or not.
struct SheetRow {
  std::int64_t position = 0;  ///< of its place in the walk
  Named place;
  Named animal;
  std::string sex;
  std::string name;
  MealState meal;
  Diet diet;
  std::optional<Fast> fast;
  std::vector<DueLine> lines;
};

struct RackSheet {
  Named rack;
  bool quarantine = false;
  DayNumber night = 0;
  SexCount count;
  std::vector<SheetRow> rows;       ///< in walking order; tubs without an animal are left out
  std::map<std::string, int> take;  ///< prey to take along, by name
};

/// The sheets of all racks with an animal, in the order of the walk, quarantine last; or of one.
std::vector<RackSheet> rack_sheets(Reader& reader, Instant now, const std::optional<Named>& only = {});

}  // namespace rackside::core
