#pragma once

#include <vector>

#include "core/read/today.h"

// What the season asks for on the day's list.
namespace rackside::core {

/// "out of B-07, into C-12": one line for each male whose rotation moves him today. (That two are together, and since
/// when, each animal's own line says.) Costs what the plans and the open pairings cost, not the register.
std::vector<SourcedLine> lines_of_rotation(const TodayView& view);

/// Females that are to lay and clutches that are to hatch, from some days before the window on. From the rows of the
/// list alone, the keeper's own past included.
std::vector<SourcedLine> lines_of_eggs(const TodayView& view);

}  // namespace rackside::core
