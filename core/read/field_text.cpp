#include "core/read/field_text.h"

#include <algorithm>

#include "core/log/value.h"

namespace rackside::core {
namespace {

/// Digits that a number of JSON keeps as they are.
bool is_small_number(std::string_view json) {
  constexpr std::size_t kMostDigits = 15;
  const bool is_short = !json.empty() && json.size() <= kMostDigits && (json.front() != '0' || json.size() == 1);
  return is_short && std::all_of(json.begin(), json.end(), [](char c) { return c >= '0' && c <= '9'; });
}

}  // namespace

std::string field_text(std::string_view json) {
  // Most are a plain text or number: a whole register is read in one look of the day's list.
  const bool is_text = json.size() >= 2 && json.front() == '"' && json.find('\\') == std::string_view::npos;
  if (is_text) return std::string(json.substr(1, json.size() - 2));
  if (is_small_number(json)) return std::string(json);
  const Value value = parse_strict(json).value;
  if (const auto* text = value.as_string()) return mend_text(*text);
  if (const auto* number = value.as_int()) return std::to_string(*number);
  if (const auto* flag = value.as_bool()) return *flag ? "yes" : "no";
  return value.is_null() ? std::string() : std::string(json);
}

}  // namespace rackside::core
