#include "labels/read/scale.h"

namespace rackside::labels {

GrayImage halved(const GrayImage& image) {
  GrayImage small(image.width / 2, image.height / 2);
  for (int y = 0; y < small.height; ++y) {
    const std::uint8_t* upper = image.pixels.data() + image.index(0, 2 * y);
    const std::uint8_t* lower = image.pixels.data() + image.index(0, 2 * y + 1);
    std::uint8_t* out = small.pixels.data() + small.index(0, y);
    for (int x = 0; x < small.width; ++x)
      out[x] = static_cast<std::uint8_t>((upper[2 * x] + upper[2 * x + 1] + lower[2 * x] + lower[2 * x + 1] + 2) / 4);
  }
  return small;
}

}  // namespace rackside::labels
