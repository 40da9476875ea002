#include "core/husbandry/proportion.h"

#include <algorithm>
#include <cmath>

namespace rackside::core {

Proportion proportion_of(std::int64_t hits, std::int64_t all) {
  if (all <= 0) return {};
  constexpr double kZ = 1.959963984540054;  // the 97.5 % point of the normal distribution
  const double n = static_cast<double>(all);
  const double p = static_cast<double>(std::clamp<std::int64_t>(hits, 0, all)) / n;
  const double z2 = kZ * kZ;
  const double middle = (p + z2 / (2 * n)) / (1 + z2 / n);
  const double half = kZ * std::sqrt(p * (1 - p) / n + z2 / (4 * n * n)) / (1 + z2 / n);
  // At none and at all the limits are exactly 0 and 1; rounding must not say otherwise.
  return {p, hits <= 0 ? 0 : std::max(0.0, middle - half), hits >= all ? 1 : std::min(1.0, middle + half)};
}

}  // namespace rackside::core
