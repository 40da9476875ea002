#include "core/read/care.h"

#include <algorithm>
#include <array>

#include "core/genetics/catalogue.h"

namespace rackside::core {
namespace {

constexpr std::string_view kLimit = "care/";
constexpr std::string_view kPlan = "feeding/";
constexpr std::string_view kPrey = "prey/";
constexpr std::string_view kFast = "fast/";
constexpr std::array kAll = {kLimit, kPlan, kPrey, kFast};

void take(std::string_view key, const Value& value, CareSettings& out) {
  const auto rest = [&](std::string_view prefix) { return key.substr(prefix.size()); };
  if (key.starts_with(kLimit)) {
    const auto limit = limit_of(rest(kLimit));
    if (limit && value.as_int()) out.limits.set(*limit, *value.as_int());
  } else if (key.starts_with(kPlan)) {
    if (auto plan = plan_of(value)) out.plans.emplace(rest(kPlan), std::move(*plan));
  } else if (key.starts_with(kPrey) && value.as_string()) {
    if (const auto grams = parse_grams_range(*value.as_string())) out.preys.emplace(rest(kPrey), *grams);
  } else if (key.starts_with(kFast) && value.as_string()) {
    if (auto fast = parse_fast(*value.as_string())) out.fasts.emplace(rest(kFast), std::move(*fast));
  }
}

}  // namespace

std::string limit_setting(Limit limit) {
  return std::string(kLimit) + std::string(info_of(limit).word);
}
std::string plan_setting(std::string_view plan) {
  return std::string(kPlan) + genetics::plain_name(plan);
}
std::string prey_setting(std::string_view prey) {
  return std::string(kPrey) + std::string(prey);
}
std::string fast_setting(std::string_view species) {
  return std::string(kFast) + genetics::plain_name(species);
}

CareSettings care_settings(Reader& reader) {
  CareSettings out;
  auto query = reader.book().database().prepare("SELECT key, value FROM setting");
  while (query.step()) {
    const std::string_view key = query.text(0);
    // Of other settings some are long.
    const bool ours = std::any_of(kAll.begin(), kAll.end(), [&](std::string_view one) { return key.starts_with(one); });
    if (ours) take(key, parse_strict(query.text(1)).value, out);
  }
  return out;
}

Draft setting_draft(const std::string& key, Value value, Instant now) {
  return {.kind = Kind::set,
          .own = Value::Object{{"key", key}, {"value", std::move(value)}, {"from", static_cast<std::int64_t>(now)}}};
}

}  // namespace rackside::core
