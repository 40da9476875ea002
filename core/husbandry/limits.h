#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

// The limits behind what is due and what is a sign. Each is a setting; what comes with the program is common practice,
// no source, unless its row says otherwise.
namespace rackside::core {

enum class Limit : std::uint8_t {
  meal_rest_hours,
  regurgitation_rest_days,
  refusals,
  feed_gravid,
  gravid_days,
  opaque_days,
  weight_loss_percent,
  weight_peak_days,
  unseen_days,
  treatment_days,
  neighbour_days,
  thaw_margin_percent,
  order_days,
};
constexpr std::size_t kLimits = 13;

struct LimitInfo {
  Limit limit;
  std::string_view word;  ///< in settings ("care/meal-rest-hours") and on the command line
  int usual;
  int least;
  int most;
  std::string_view help;
  std::string_view basis;  ///< where the usual value is from
};
std::span<const LimitInfo> limit_table();
const LimitInfo& info_of(Limit limit);
std::optional<Limit> limit_of(std::string_view word);

/// One value each; starts as what is usual.
class Limits {
 public:
  Limits();
  int operator[](Limit limit) const { return values_[static_cast<std::size_t>(limit)]; }
  /// Ignores what lies outside the limit's range: another device may have a newer program.
  void set(Limit limit, std::int64_t value);

 private:
  std::array<int, kLimits> values_{};
};

}  // namespace rackside::core
