#pragma once

#include <string>
#include <vector>

#include "core/time/zone.h"

// What a chart's axes show. Pure.
namespace rackside::cli {

/// Round numbers from at most `least` to at least `most`, 1, 2 or 5 times a power of ten apart, at most `count` + 1 of
/// them. Requires least <= most.
std::vector<double> round_steps(double least, double most, int count);

struct TimeTick {
  core::DayNumber day = 0;
  std::string text;  ///< "3 Nov", "Nov", "2026"
  bool begins_year = false;
};
/// Days to write under a time axis, at most `count`: days where the span is short, then months, then years.
std::vector<TimeTick> time_ticks(core::DayNumber first, core::DayNumber last, int count);

/// "3 Nov 2026"
std::string day_for_people(core::DayNumber day);

}  // namespace rackside::cli
