#include "core/time/zone.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <iterator>
#include <limits>

namespace rackside::core {
namespace {

constexpr int kMinutesPerDay = 24 * 60;

std::int64_t floor_divide(std::int64_t value, std::int64_t by) {
  const std::int64_t quotient = value / by;
  return value % by < 0 ? quotient - 1 : quotient;
}

Instant offset_of(const Zone::Step& step) {
  return step.minutes_east * kMinute;
}

/// Of all n steps, step i holds from here on; the first holds since ever.
Instant begin_of(const std::vector<Zone::Step>& steps, std::size_t i) {
  return i == 0 ? std::numeric_limits<Instant>::min() : steps[i].from;
}
Instant end_of(const std::vector<Zone::Step>& steps, std::size_t i) {
  return i + 1 == steps.size() ? std::numeric_limits<Instant>::max() : steps[i + 1].from;
}

/// The step at which the local clock jumps over `local`. One exists when no instant shows that local time.
Instant instant_after_gap(const std::vector<Zone::Step>& steps, std::int64_t local) {
  for (std::size_t i = 1; i < steps.size(); ++i)
    if (local >= steps[i].from + offset_of(steps[i - 1]) && local < steps[i].from + offset_of(steps[i]))
      return steps[i].from;
  return steps.front().from;
}

bool parse_digits(std::string_view text, int& out) {
  out = 0;
  for (const char c : text) {
    if (c < '0' || c > '9') return false;
    out = out * 10 + (c - '0');
  }
  return !text.empty();
}

void append_padded(int value, std::size_t width, std::string& out) {
  const std::string digits = std::to_string(value);
  if (digits.size() < width) out.append(width - digits.size(), '0');
  out += digits;
}

Instant night_start(const Zone& zone, int night_start_minute, DayNumber number) {
  return zone.first_instant_of(number, night_start_minute);
}

}  // namespace

int Zone::minutes_east_at(Instant t) const {
  if (steps.empty()) return 0;
  const auto after = std::upper_bound(steps.begin(), steps.end(), t,
                                      [](Instant instant, const Step& step) { return instant < step.from; });
  return after == steps.begin() ? after->minutes_east : std::prev(after)->minutes_east;
}

std::int64_t Zone::local(Instant t) const {
  return t + minutes_east_at(t) * kMinute;
}

DayNumber Zone::day_of(Instant t) const {
  return static_cast<DayNumber>(floor_divide(local(t), kDay));
}

int Zone::minute_of_day(Instant t) const {
  const std::int64_t minute = floor_divide(local(t), kMinute);
  return static_cast<int>(minute - floor_divide(minute, kMinutesPerDay) * kMinutesPerDay);
}

std::vector<Instant> Zone::instants_of(DayNumber day, int minute) const {
  const std::int64_t local = day * kDay + minute * kMinute;
  if (steps.empty()) return {local};
  std::vector<Instant> out;
  for (std::size_t i = 0; i < steps.size(); ++i) {
    const Instant t = local - offset_of(steps[i]);
    if (t >= begin_of(steps, i) && t < end_of(steps, i)) out.push_back(t);
  }
  if (out.empty()) out.push_back(instant_after_gap(steps, local));
  std::sort(out.begin(), out.end());
  return out;
}

Night night_numbered(const Zone& zone, int night_start_minute, DayNumber number) {
  return {number, night_start(zone, night_start_minute, number), night_start(zone, night_start_minute, number + 1)};
}

Night night_of(const Zone& zone, int night_start_minute, Instant t) {
  // A first guess by the local clock, then judged by instants: where clocks change at the night's start, only the
  // instants divide time without gap or overlap.
  const std::int64_t since_start = zone.local(t) - night_start_minute * kMinute;
  Night night = night_numbered(zone, night_start_minute, static_cast<DayNumber>(floor_divide(since_start, kDay)));
  while (t < night.start) night = night_numbered(zone, night_start_minute, night.number - 1);
  while (t >= night.end) night = night_numbered(zone, night_start_minute, night.number + 1);
  return night;
}

std::string date_text(DayNumber day) {
  const std::chrono::year_month_day date{std::chrono::sys_days{std::chrono::days{day}}};
  std::string out;
  append_padded(static_cast<int>(date.year()), 4, out);
  out += '-';
  append_padded(static_cast<int>(static_cast<unsigned>(date.month())), 2, out);
  out += '-';
  append_padded(static_cast<int>(static_cast<unsigned>(date.day())), 2, out);
  return out;
}

bool parse_date(std::string_view text, DayNumber& day) {
  int year = 0;
  int month = 0;
  int of_month = 0;
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return false;
  if (!parse_digits(text.substr(0, 4), year) || !parse_digits(text.substr(5, 2), month) ||
      !parse_digits(text.substr(8, 2), of_month))
    return false;
  const std::chrono::year_month_day date{std::chrono::year{year}, std::chrono::month{static_cast<unsigned>(month)},
                                         std::chrono::day{static_cast<unsigned>(of_month)}};
  if (!date.ok()) return false;
  day = static_cast<DayNumber>(std::chrono::sys_days{date}.time_since_epoch().count());
  return true;
}

std::string clock_text(int minute_of_day) {
  std::string out;
  append_padded(minute_of_day / 60, 2, out);
  out += ':';
  append_padded(minute_of_day % 60, 2, out);
  return out;
}

bool parse_clock(std::string_view text, int& minute_of_day) {
  int hour = 0;
  int minute = 0;
  if (text.size() != 5 || text[2] != ':' || !parse_digits(text.substr(0, 2), hour) ||
      !parse_digits(text.substr(3), minute))
    return false;
  if (hour > 23 || minute > 59) return false;
  minute_of_day = hour * 60 + minute;
  return true;
}

}  // namespace rackside::core
