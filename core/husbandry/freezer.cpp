#include "core/husbandry/freezer.h"

namespace rackside::core {

Stock stock_of(std::span<const FreezerEntry> entries, std::span<const FreezerUse> uses, Instant now) {
  Stock out;
  for (const FreezerUse& use : uses) {
    if (use.at <= now && use.at > now - kDaysOfUse * kDay) out.used += use.count;
  }
  std::optional<Instant> since;
  for (const FreezerEntry& entry : entries) {
    if (entry.at > now) continue;
    if (!since || entry.counted) since = entry.at;
    if (entry.counted) {
      out.counted = entry.at;
      out.left = entry.count;
    } else {
      out.left = out.left.value_or(0) + entry.count;
    }
  }
  if (!since) return out;
  for (const FreezerUse& use : uses) {
    if (use.at >= *since && use.at <= now) *out.left -= use.count;
  }
  if (out.used > 0) out.lasts = *out.left <= 0 ? 0 : *out.left * kDaysOfUse / out.used;
  return out;
}

std::vector<ThawItem> thaw_list(const std::map<std::string, int>& wanted, int margin_percent) {
  std::vector<ThawItem> out;
  for (const auto& [prey, count] : wanted) {
    if (count > 0) out.push_back({prey, count, (count * margin_percent + 99) / 100});
  }
  return out;
}

}  // namespace rackside::core
