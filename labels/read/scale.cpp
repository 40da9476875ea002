#include "labels/read/scale.h"

#include <algorithm>

namespace rackside::labels {
namespace {

/// A pixel of the large picture lies a quarter pixel to either side of its source: 3 parts of it, 1 of the neighbour.
struct Taps {
  int near;
  int far;
};
Taps taps_of(int position, int count) {
  const int near = position / 2;
  const int far = std::clamp(position % 2 == 0 ? near - 1 : near + 1, 0, count - 1);
  return {near, far};
}

}  // namespace

GrayImage enlarged(const GrayImage& image) {
  GrayImage large(image.width * 2, image.height * 2);
  for (int y = 0; y < large.height; ++y) {
    const Taps row = taps_of(y, image.height);
    for (int x = 0; x < large.width; ++x) {
      const Taps column = taps_of(x, image.width);
      const int near = 3 * image.at(column.near, row.near) + image.at(column.far, row.near);
      const int far = 3 * image.at(column.near, row.far) + image.at(column.far, row.far);
      large.at(x, y) = static_cast<std::uint8_t>((3 * near + far + 8) / 16);
    }
  }
  return large;
}

}  // namespace rackside::labels
