#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/fold/account.h"
#include "core/rules/rule.h"

namespace rackside::core {

constexpr Instant kMoveNearby = 15 * kMinute;

/// A scan of a place by which no animal's own card was read.
struct PlaceScan {
  Account account;
  std::vector<Thing> shown;  ///< what the screen showed there
  std::vector<Thing> there;  ///< who was there at the observed time by the merged log; visitors included
  bool unnamed_move_nearby =
      false;  ///< a move there within 15 minutes that the scan neither names nor follows on its line
};

/// Whom a place scan is about. Stored apart from the event.
struct Binding {
  std::vector<Thing> bound;  ///< none, one, or both of a doubtful treatment; ascending
  enum class How : std::uint8_t { plain, silent, notice, question } how = How::plain;
  std::vector<Thing> candidates;  ///< for a question, ascending: each is to be checked
  bool operator==(const Binding&) const = default;
};

/// Source: the rule `whose` (core/rules). An unsure time binds to whom the screen showed.
Binding bind_scan(const PlaceScan& scan);

}  // namespace rackside::core
