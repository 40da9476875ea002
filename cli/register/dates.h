#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "core/time/zone.h"

// Dates as keepers' tables hold them. Pure.
namespace rackside::cli {

/// What the first number of 03/04/2024 is.
enum class DateOrder : std::uint8_t { unsettled, day_first, month_first };

struct TableDate {
  int year = 0;
  int month = 0;  ///< 0: only the year was given
  int day = 0;    ///< 0: only year and month
  /// Only of a whole date.
  core::DayNumber number() const;
  /// The first and the last day that it can be.
  core::DayNumber first() const;
  core::DayNumber last() const;
  /// "2024-07-15", "2024-07", "2024".
  std::string text() const;
};

struct DateReading {
  std::optional<TableDate> date;
  std::string problem;  ///< for people, without the final full stop
};

/// Understood always: 2024-07-15, 2024-07, 2024 (also with . or / between), 15.07.2024 (dots: the day first), 15 Jul
/// 2024, Jul 15, 2024, July 2024 (English names), 20240715. With slashes or hyphens and the year last, 25/12/2024 can
/// only be read one way; 03/04/2024 needs `order`. A year of two digits is of this century. A spreadsheet's day number
/// is refused and named as what it is.
DateReading read_date(std::string_view text, DateOrder order);

/// What a date that can only be read one way shows of its table's habit: 25/12/2024 that the day comes first.
DateOrder order_shown_by(std::string_view text);

}  // namespace rackside::cli
