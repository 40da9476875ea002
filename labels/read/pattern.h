#pragma once

#include <cstdint>
#include <vector>

namespace rackside::labels {

/// What is known of every symbol of one size before it is read.
/// Shape:  `size` 21, 25, 29, 33, 37 or 41: versions 1 to 6, which state no version.
/// Source: ISO/IEC 18004: finder patterns with their separators, timing patterns, the alignment pattern, the dark
/// module.
struct KnownPattern {
  int size = 0;
  std::vector<std::int8_t> modules;  ///< 1 light, -1 dark, 0 data or format
};
inline constexpr int kLeastSize = 21;
inline constexpr int kMostSize = 41;
const KnownPattern& known_pattern(int size);

}  // namespace rackside::labels
