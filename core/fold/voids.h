#pragma once

#include <vector>

#include "core/fold/account.h"

namespace rackside::core {

/// A `voided` that names the event, or an event that says `replaces` of it. All read by the log (admitted).
struct Withdrawal {
  Account by;
  bool restored = false;   ///< for a `voided`: some read `restored` names it
  bool withdrawn = false;  ///< for a `replaces`: its own event is void by a `voided` (being replaced does not count)
};

enum class VoidState : std::uint8_t {
  live,
  gone,
  disputed,  ///< another's void of a grave account: it stands until a person agrees
};

/// Whether the event is void. Own entries of the same local day, and whatever is not grave: at once. Another's (or
/// one's own of an earlier day) treatment, eggs, hatching, death or sale: disputed. `day_of` is the collection's local
/// day.
VoidState void_state(const Account& event, const std::vector<Withdrawal>& withdrawals, const Zone& zone);

}  // namespace rackside::core
