#include "cli/story/axis.h"

#include <fmt/format.h>

#include <array>
#include <cmath>

namespace rackside::cli {
namespace {

using core::DayNumber;

constexpr std::array<const char*, 12> kMonths = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                 "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

struct Civil {
  int year, month, day;
};
Civil civil(DayNumber number) {
  const std::string text = core::date_text(number);
  return {std::stoi(text.substr(0, 4)), std::stoi(text.substr(5, 2)), std::stoi(text.substr(8, 2))};
}
DayNumber number_of(int year, int month) {
  DayNumber out = 0;
  core::parse_date(fmt::format("{:04}-{:02}-01", year, month), out);
  return out;
}

std::vector<TimeTick> days_apart(DayNumber first, DayNumber last, int step) {
  std::vector<TimeTick> out;
  for (DayNumber day = first; day <= last; day += step) {
    const Civil at = civil(day);
    out.push_back({day, fmt::format("{} {}", at.day, kMonths[static_cast<std::size_t>(at.month - 1)]), false});
  }
  return out;
}

std::vector<TimeTick> months_apart(DayNumber first, DayNumber last, int step) {
  std::vector<TimeTick> out;
  const Civil begin = civil(first);
  for (int month = begin.year * 12 + begin.month - 1;; ++month) {
    const DayNumber day = number_of(month / 12, month % 12 + 1);
    if (day > last) return out;
    if (day < first || month % step != 0) continue;
    const bool january = month % 12 == 0;
    out.push_back({day,
                   january || step >= 12 ? fmt::to_string(month / 12) : kMonths[static_cast<std::size_t>(month % 12)],
                   january});
  }
}

}  // namespace

std::vector<double> round_steps(double least, double most, int count) {
  const double span = std::max(most - least, 1e-9);
  double step = std::pow(10, std::floor(std::log10(span / count)));
  for (const double factor : {2.0, 2.5, 2.0}) {
    if (span / step <= count) break;
    step *= factor;
  }
  std::vector<double> out;
  const double begin = std::floor(least / step + 1e-9);
  const double end = std::max(std::ceil(most / step - 1e-9), begin + 1);
  for (double at = begin; at <= end + 1e-9; ++at) out.push_back(at * step);
  return out;
}

std::vector<TimeTick> time_ticks(DayNumber first, DayNumber last, int count) {
  const int span = std::max(1, last - first);
  for (const int step : {1, 2, 7, 14})
    if (span / step < count) return days_apart(first, last, step);
  for (const int step : {1, 2, 3, 6, 12, 24, 60, 120})
    if (span / (step * 30) < count) return months_apart(first, last, step);
  return months_apart(first, last, 240);
}

std::string day_for_people(DayNumber day) {
  const Civil at = civil(day);
  return fmt::format("{} {} {}", at.day, kMonths[static_cast<std::size_t>(at.month - 1)], at.year);
}

}  // namespace rackside::cli
