#include "core/fold/clocks.h"

#include <algorithm>
#include <tuple>

namespace rackside::core {
namespace {

constexpr int kMinutesOfDay = 24 * 60;

/// The last such local time that is not after `now`; of two on a day when clocks go back, the earlier.
Instant last_such_time(const Zone& zone, int minute, Instant now) {
  const DayNumber today = zone.day_of(now);
  const Instant on_this_day = zone.first_instant_of(today, minute);
  return on_this_day <= now ? on_this_day : zone.first_instant_of(today - 1, minute);
}

}  // namespace

bool begins_stretch(const ClockReading& previous, const ClockReading& next) {
  if (next.wall_ms < previous.wall_ms - kClockJitter) return true;
  if (next.run != previous.run) return false;
  const std::int64_t moved = (next.wall_ms - next.run_ms) - (previous.wall_ms - previous.run_ms);
  return moved < -kClockJitter || moved > kDay;
}

std::optional<std::int64_t> correction_for(std::uint32_t seq, Instant wall_ms, const std::vector<ClockCheck>& checks) {
  const ClockCheck* next = nullptr;
  const ClockCheck* last = nullptr;
  for (const ClockCheck& check : checks) {
    const auto key = std::tie(check.seq, check.by);
    if (check.seq >= seq) {
      if (!next || key < std::tie(next->seq, next->by)) next = &check;
    } else if (wall_ms - check.wall_ms <= kCheckHolds) {
      if (!last || key > std::tie(last->seq, last->by)) last = &check;
    }
  }
  if (next) return next->offset;
  if (last) return last->offset;
  return std::nullopt;
}

ObservedTime observed_time(const Event& event, std::optional<std::int64_t> offset, const Zone& zone) {
  ObservedTime time{.at = event.clock.wall_ms + offset.value_or(0)};
  time.sure = offset.has_value() && time.at >= kFirstPossible;
  if (!event.said) return time;
  const SaidTime& said = *event.said;
  if (said.minutes_ago) {
    time.at -= std::int64_t{*said.minutes_ago} * kMinute;
  } else if (said.day) {
    time.at =
        zone.first_instant_of(*said.day, std::clamp(said.minute.value_or(kMinutesOfDay / 2), 0, kMinutesOfDay - 1));
    time.sure = true;  // a person's date and time rest on no clock of ours
  } else if (said.minute) {
    time.at = last_such_time(zone, std::clamp(*said.minute, 0, kMinutesOfDay - 1), time.at);
  }
  time.said = true;
  return time;
}

}  // namespace rackside::core
