#include "core/husbandry/limits.h"

#include <algorithm>

namespace rackside::core {
namespace {

constexpr std::string_view kCommon = "common practice, no source";

constexpr std::array<LimitInfo, kLimits> kTable = {{
    {Limit::meal_rest_hours, "meal-rest-hours", 48, 0, 336,
     "after a meal nobody is asked to pair, weigh, move or ship it for so long; a weight from then does not count",
     kCommon},
    {Limit::regurgitation_rest_days, "regurgitation-rest-days", 10, 1, 60, "no food for so long after a regurgitation",
     kCommon},
    {Limit::refusals, "refusals", 3, 1, 50, "off feed after so many in a row, where its own habit is not known",
     kCommon},
    {Limit::feed_gravid, "feed-gravid", 1, 0, 1,
     "1: gravid females are offered food, without alarm when they refuse; 0: not", kCommon},
    {Limit::gravid_days, "gravid-days", 120, 20, 400, "without eggs, gravid is forgotten after so long", kCommon},
    {Limit::opaque_days, "opaque-days", 21, 5, 90, "opaque for longer without a shed is late",
     "a shed takes 7 to 14 days (a veterinary article), and a week more"},
    {Limit::weight_loss_percent, "weight-loss-percent", 10, 2, 60, "lighter than its recent peak by so much is a sign",
     kCommon},
    {Limit::weight_peak_days, "weight-peak-days", 180, 14, 400, "how far back the peak is looked for", kCommon},
    {Limit::unseen_days, "unseen-days", 14, 1, 365, "without any entry for so long, nobody has looked", kCommon},
    {Limit::treatment_days, "treatment-days", 14, 1, 365,
     "under treatment for so long after a dose that is not repeated", kCommon},
    {Limit::neighbour_days, "neighbour-days", 30, 1, 365, "partners of so many days before an ill animal are watched",
     kCommon},
    {Limit::thaw_margin_percent, "thaw-margin-percent", 5, 0, 100, "thawed beyond what is counted", kCommon},
    {Limit::order_days, "order-days", 21, 1, 365, "order when the freezer lasts no longer than this", kCommon},
}};

constexpr bool in_order() {
  for (std::size_t i = 0; i < kTable.size(); ++i)
    if (static_cast<std::size_t>(kTable[i].limit) != i) return false;
  return true;
}
static_assert(in_order(), "one row a limit, in the order of the enumeration");

}  // namespace

std::span<const LimitInfo> limit_table() {
  return kTable;
}

const LimitInfo& info_of(Limit limit) {
  return kTable[static_cast<std::size_t>(limit)];
}

std::optional<Limit> limit_of(std::string_view word) {
  const auto found = std::find_if(kTable.begin(), kTable.end(), [&](const LimitInfo& one) { return one.word == word; });
  return found == kTable.end() ? std::nullopt : std::optional(found->limit);
}

Limits::Limits() {
  for (const LimitInfo& one : kTable) values_[static_cast<std::size_t>(one.limit)] = one.usual;
}

void Limits::set(Limit limit, std::int64_t value) {
  const LimitInfo& info = info_of(limit);
  if (value >= info.least && value <= info.most) values_[static_cast<std::size_t>(limit)] = static_cast<int>(value);
}

}  // namespace rackside::core
