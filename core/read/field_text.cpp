#include "core/read/field_text.h"

#include "core/log/value.h"

namespace rackside::core {

std::string field_text(std::string_view json) {
  // Most are a plain text: a whole register is read in one look of the day's list.
  const bool is_text = json.size() >= 2 && json.front() == '"' && json.find('\\') == std::string_view::npos;
  if (is_text) return std::string(json.substr(1, json.size() - 2));
  const Value value = parse_strict(json).value;
  if (const auto* text = value.as_string()) return mend_text(*text);
  if (const auto* number = value.as_int()) return std::to_string(*number);
  if (const auto* flag = value.as_bool()) return *flag ? "yes" : "no";
  return value.is_null() ? std::string() : std::string(json);
}

}  // namespace rackside::core
