#include "cli/register/dates.h"

#include <fmt/format.h>

#include <array>
#include <regex>

namespace rackside::cli {
namespace {

using core::DayNumber;

constexpr std::array<std::string_view, 12> kMonths = {"jan", "feb", "mar", "apr", "may", "jun",
                                                      "jul", "aug", "sep", "oct", "nov", "dec"};
constexpr const char* kForms = "write 2024-07-15, 2024-07 or 2024";

int month_named(const std::string& word) {
  std::string low;
  for (const char c : word) low += static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
  for (std::size_t i = 0; i < kMonths.size(); ++i)
    if (low.substr(0, 3) == kMonths[i]) return static_cast<int>(i) + 1;
  return 0;
}

int full_year(const std::string& digits) {
  const int year = std::stoi(digits);
  return digits.size() <= 2 ? 2000 + year : year;
}

DateReading checked(int year, int month, int day, std::string_view as_written) {
  const TableDate date{year, month, day};
  DayNumber number = 0;
  const bool good = year >= 1900 && year <= 2999 && month <= 12 &&
                    core::parse_date(TableDate{year, std::max(month, 1), std::max(day, 1)}.text(), number);
  if (good) return {date, {}};
  return {std::nullopt, fmt::format("“{}” is no day of the calendar: {}", as_written, kForms)};
}

/// "a/b/year" with the year last: the groups a, b, year.
bool year_last(const std::string& text, std::smatch& match) {
  static const std::regex form(R"((\d{1,2})\s*([/-])\s*(\d{1,2})\s*\2\s*(\d{4}|\d{2}))");
  return std::regex_match(text, match, form);
}

DateReading read_year_last(const std::smatch& match, DateOrder order) {
  const int first = std::stoi(match[1]);
  const int second = std::stoi(match[3]);
  const std::string text = match[0];
  if (first > 12 || second > 12) {
    const DateOrder shown = order_shown_by(text);
    if (order != DateOrder::unsettled && shown != DateOrder::unsettled && shown != order)
      return {std::nullopt, fmt::format("“{}” has the {} first, unlike the rest of the table: {}", text,
                                        shown == DateOrder::day_first ? "day" : "month", kForms)};
    order = shown;
  }
  if (order == DateOrder::unsettled && first != second)
    return {std::nullopt,
            fmt::format("“{}” can be read in two ways: say --dates day-first or --dates month-first", text)};
  return order == DateOrder::month_first ? checked(full_year(match[4]), first, second, text)
                                         : checked(full_year(match[4]), second, first, text);
}

std::string trimmed(std::string_view text) {
  const auto begin = text.find_first_not_of(" \t");
  if (begin == std::string_view::npos) return {};
  return std::string(text.substr(begin, text.find_last_not_of(" \t") - begin + 1));
}

}  // namespace

std::string TableDate::text() const {
  if (month == 0) return fmt::format("{:04}", year);
  if (day == 0) return fmt::format("{:04}-{:02}", year, month);
  return fmt::format("{:04}-{:02}-{:02}", year, month, day);
}

DayNumber TableDate::first() const {
  DayNumber out = 0;
  core::parse_date(TableDate{year, std::max(month, 1), std::max(day, 1)}.text(), out);
  return out;
}

DayNumber TableDate::last() const {
  if (day != 0) return first();
  if (month == 0 || month == 12) return TableDate{year + 1, 1, 1}.first() - 1;
  return TableDate{year, month + 1, 1}.first() - 1;
}

DayNumber TableDate::number() const {
  return first();
}

DateOrder order_shown_by(std::string_view text) {
  std::smatch match;
  const std::string plain = trimmed(text);
  if (!year_last(plain, match)) return DateOrder::unsettled;
  const int first = std::stoi(match[1]);
  const int second = std::stoi(match[3]);
  if (first > 12 && first <= 31 && second <= 12) return DateOrder::day_first;
  if (second > 12 && second <= 31 && first <= 12) return DateOrder::month_first;
  return DateOrder::unsettled;
}

DateReading read_date(std::string_view written, DateOrder order) {
  static const std::regex year_first(R"((\d{4})(?:\s*[-./]\s*(\d{1,2})(?:\s*[-./]\s*(\d{1,2}))?)?(?:[T ]0?0:00.*)?)");
  static const std::regex together(R"((\d{4})(\d{2})(\d{2}))");
  static const std::regex dots(R"((\d{1,2})\.\s*(\d{1,2})\.\s*(\d{4}|\d{2}))");
  static const std::regex day_month(R"((\d{1,2})(?:st|nd|rd|th)?[\s.-]*([A-Za-z]{3,9})[\s.,-]*(\d{4}|\d{2}))");
  static const std::regex month_day(R"(([A-Za-z]{3,9})[\s.]*(\d{1,2})(?:st|nd|rd|th)?[\s,]+(\d{4}))");
  static const std::regex month_year(R"(([A-Za-z]{3,9})[\s.,-]*(\d{4}))");
  static const std::regex serial(R"([2-5]\d{4}(\.0*)?)");
  const std::string text = trimmed(written);
  const auto number = [](const std::ssub_match& part) { return part.matched ? std::stoi(part) : 0; };
  std::smatch match;
  if (std::regex_match(text, match, together) || std::regex_match(text, match, year_first))
    return checked(number(match[1]), number(match[2]), number(match[3]), text);
  if (std::regex_match(text, match, dots))
    return checked(full_year(match[3]), number(match[2]), number(match[1]), text);
  if (year_last(text, match)) return read_year_last(match, order);
  if (std::regex_match(text, match, day_month) && month_named(match[2]) > 0)
    return checked(full_year(match[3]), month_named(match[2]), number(match[1]), text);
  if (std::regex_match(text, match, month_day) && month_named(match[1]) > 0)
    return checked(number(match[3]), month_named(match[1]), number(match[2]), text);
  if (std::regex_match(text, match, month_year) && month_named(match[1]) > 0)
    return checked(number(match[2]), month_named(match[1]), 0, text);
  if (std::regex_match(text, serial))
    return {std::nullopt, fmt::format("“{}” looks like a spreadsheet’s day number: format the column as a date, and "
                                      "save the table again",
                                      text)};
  return {std::nullopt, fmt::format("“{}” is no date: {}", text, kForms)};
}

}  // namespace rackside::cli
