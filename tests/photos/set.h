#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "tests/photos/shoot.h"

namespace rackside::tests {

// The set of made-up photos that reading is measured on. What was tuned on has the seed kTuningSeed, what is reported
// kReportedSeed; a photo depends on the set's seed, its category and its number only.

inline constexpr std::uint32_t kTuningSeed = 7001;
inline constexpr std::uint32_t kReportedSeed = 90210;

struct Category {
  std::string_view name;
  int photos;  ///< in the whole set
  int fewest;  ///< labels in a photo
  int most;
  bool counted;  ///< in the total and in the time of a photo: not so the photos of 12 megapixels
};
const std::vector<Category>& photo_categories();

/// Photo `number` of a category. Deterministic.
Shot make_photo(std::uint32_t seed, const Category& category, int number);

}  // namespace rackside::tests
