#include "labels/read/pattern.h"

#include <algorithm>
#include <array>
#include <cstdlib>

namespace rackside::labels {
namespace {

/// Around (column, row), dark where the distance to it is one of an even ring.
void add_rings(KnownPattern& pattern, int column, int row, int reach, int light_ring) {
  for (int y = std::max(0, row - reach); y <= std::min(pattern.size - 1, row + reach); ++y) {
    for (int x = std::max(0, column - reach); x <= std::min(pattern.size - 1, column + reach); ++x) {
      const int ring = std::max(std::abs(x - column), std::abs(y - row));
      const bool light = ring == light_ring || ring == 4;
      pattern.modules[static_cast<std::size_t>(y * pattern.size + x)] = light ? 1 : -1;
    }
  }
}

KnownPattern make_pattern(int size) {
  KnownPattern pattern{size, std::vector<std::int8_t>(static_cast<std::size_t>(size * size), 0)};
  const auto at = [&](int column, int row) -> std::int8_t& {
    return pattern.modules[static_cast<std::size_t>(row * size + column)];
  };
  for (int i = 8; i < size - 8; ++i) at(i, 6) = at(6, i) = i % 2 == 0 ? -1 : 1;
  if (size > kLeastSize) add_rings(pattern, size - 7, size - 7, 2, 1);
  add_rings(pattern, 3, 3, 4, 2);
  add_rings(pattern, size - 4, 3, 4, 2);
  add_rings(pattern, 3, size - 4, 4, 2);
  at(8, size - 8) = -1;
  return pattern;
}

}  // namespace

const KnownPattern& known_pattern(int size) {
  static const std::array<KnownPattern, 6> kAll = {make_pattern(21), make_pattern(25), make_pattern(29),
                                                   make_pattern(33), make_pattern(37), make_pattern(41)};
  return kAll[static_cast<std::size_t>(std::clamp((size - kLeastSize) / 4, 0, 5))];
}

}  // namespace rackside::labels
