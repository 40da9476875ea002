#pragma once

#include <optional>
#include <vector>

#include "core/log/event.h"
#include "core/time/zone.h"

namespace rackside::core {

/// A clock that runs behind its run counter by more than this was set back; less is jitter of rounding and slewing.
constexpr std::int64_t kClockJitter = 2'000;
/// No event of this form was written before 2026-01-01 UTC: a corrected clock earlier than that was never set.
constexpr Instant kFirstPossible = 1'767'225'600'000;
/// How long after the last check of its stretch an event is still sure.
constexpr std::int64_t kCheckHolds = kDay;

/// Whether `next` begins a new stretch of its device's clock after `previous` on the same line.
bool begins_stretch(const ClockReading& previous, const ClockReading& next);

/// A recorded comparison of a device's clock with the hub's, in the stretch of the event that it is applied to.
struct ClockCheck {
  std::uint32_t seq = 0;    ///< of the event of the device that it names
  Instant wall_ms = 0;      ///< that event's raw wall clock
  std::int64_t offset = 0;  ///< added to the device's clock it gives the hub's
  EventRef by;              ///< the check event
};

/// The offset to apply, or nothing where the time is unsure. `checks`: those of the event's own stretch and line.
std::optional<std::int64_t> correction_for(std::uint32_t seq, Instant wall_ms, const std::vector<ClockCheck>& checks);

struct ObservedTime {
  Instant at = 0;
  bool sure = false;
  bool said = false;
  bool operator==(const ObservedTime&) const = default;
};

/// What was said, else the corrected wall clock. `offset` nullopt: unsure.
ObservedTime observed_time(const Event& event, std::optional<std::int64_t> offset, const Zone& zone);

}  // namespace rackside::core
