#pragma once

#include <optional>
#include <vector>

#include "core/husbandry/hatchling.h"
#include "core/read/reader.h"

// The young of a book that have not gone yet, and how far each is.
namespace rackside::core {

struct HatchlingLine {
  Named animal;
  std::optional<Named> place;
  std::string sex;
  DayNumber hatched = 0;  ///< the first day it can be, where only the month is known
  bool is_group = false;  ///< young not yet told apart
  YoungState state;
};

/// The setting that holds how many meals are asked of a young one before it is ready.
constexpr const char* kReadyMealsSetting = "hatchling/meals";
ReadyRules ready_rules(Reader& reader);

/// Animals that live here and hatched within so many days, the oldest first.
std::vector<HatchlingLine> hatchling_list(Reader& reader, Instant now, DayNumber days = 400);

}  // namespace rackside::core
