#pragma once

#include <string>

#include "cli/session.h"

namespace rackside::cli {

/// What `today` was asked for.
struct TodayOptions {
  std::string sheet;  ///< a PDF to write; empty: print the list
  std::string rack;   ///< only this one; empty: all
  std::string paper = "a4";
};

/// Writes the sheets as one PDF. In a function of its own because only the larger program draws.
using WriteSheet = void (*)(Session& session, const TodayOptions& options);
void write_today_sheet(Session& session, const TodayOptions& options);

}  // namespace rackside::cli
