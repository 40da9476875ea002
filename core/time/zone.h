#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace rackside::core {

/// Milliseconds since 1970-01-01 UTC.
using Instant = std::int64_t;
constexpr Instant kMinute = 60'000;
constexpr Instant kHour = 60 * kMinute;
constexpr Instant kDay = 24 * kHour;

/// A civil calendar date as days since 1970-01-01.
using DayNumber = int;

/// The collection's zone as its author computed it: the fold reads no tz data.
struct Zone {
  struct Step {
    Instant from = 0;      ///< the offset holds from this instant on
    int minutes_east = 0;  ///< local = UTC + minutes
    bool operator==(const Step&) const = default;
  };
  std::vector<Step> steps;  ///< ascending by `from`; before the first step its offset holds; empty is UTC
  bool operator==(const Zone&) const = default;

  int minutes_east_at(Instant t) const;
  /// Local wall clock as milliseconds "since 1970-01-01 local".
  std::int64_t local(Instant t) const;
  DayNumber day_of(Instant t) const;
  int minute_of_day(Instant t) const;
  /// The instants that a local day and minute stand for: one; two where clocks go back (the earlier first); none where
  /// they spring forward (then the instant just after the gap is given).
  std::vector<Instant> instants_of(DayNumber day, int minute) const;
  Instant first_instant_of(DayNumber day, int minute) const { return instants_of(day, minute).front(); }
};

/// A feeding night: [start, end), from `night_start_minute` local (noon unless set) of day `number` to that of the
/// next.
struct Night {
  DayNumber number = 0;
  Instant start = 0;
  Instant end = 0;
};
Night night_of(const Zone& zone, int night_start_minute, Instant t);
Night night_numbered(const Zone& zone, int night_start_minute, DayNumber number);

/// "2026-11-25", and back; -1 digits or nonsense give false.
std::string date_text(DayNumber day);
bool parse_date(std::string_view text, DayNumber& day);
/// "19:05"
std::string clock_text(int minute_of_day);
bool parse_clock(std::string_view text, int& minute_of_day);

}  // namespace rackside::core
