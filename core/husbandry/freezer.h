#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/time/zone.h"

// The freezer: what to thaw, what is left, when to order. Pure.
namespace rackside::core {

/// What came in, was thrown away, or was counted; ascending by time.
struct FreezerEntry {
  Instant at = 0;
  int count = 0;
  bool counted = false;  ///< `count` are there, whatever was believed before
};
/// Prey that was taken out for meals; in any order.
struct FreezerUse {
  Instant at = 0;
  int count = 0;
};

struct Stock {
  std::optional<int> left;  ///< unknown where nothing came in and nothing was counted; may be below 0: count again
  std::optional<Instant> counted;  ///< when it was last counted
  int used = 0;                    ///< in the last `kDaysOfUse` days
  std::optional<int> lasts;        ///< days, at the rate of those; unknown where nothing was used
};
constexpr int kDaysOfUse = 28;

/// From the newest count on, or from the first delivery where nobody counted: deliveries come to it, meals go off it.
Stock stock_of(std::span<const FreezerEntry> entries, std::span<const FreezerUse> uses, Instant now);

struct ThawItem {
  std::string prey;
  int wanted = 0;  ///< by those who are to be fed
  int margin = 0;  ///< beyond that, rounded up
  int all() const { return wanted + margin; }
};
/// By prey in the order of names; a margin of at least one where the per cent are not 0.
std::vector<ThawItem> thaw_list(const std::map<std::string, int>& wanted, int margin_percent);

}  // namespace rackside::core
