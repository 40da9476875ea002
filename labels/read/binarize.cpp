#include "labels/read/binarize.h"

#include <algorithm>

namespace rackside::labels {
namespace {

/// Sums of all pixels above and to the left; one row and column more than the image. Sums wrap at 2^32, differences of
/// windows are right all the same.
std::vector<std::uint32_t> integral_of(const GrayImage& image) {
  const std::size_t stride = static_cast<std::size_t>(image.width) + 1;
  std::vector<std::uint32_t> sums(stride * (static_cast<std::size_t>(image.height) + 1), 0);
  for (int y = 0; y < image.height; ++y) {
    const std::uint8_t* row = image.pixels.data() + image.index(0, y);
    const std::uint32_t* above = sums.data() + static_cast<std::size_t>(y) * stride;
    std::uint32_t* out = sums.data() + static_cast<std::size_t>(y + 1) * stride;
    std::uint32_t in_row = 0;
    for (int x = 0; x < image.width; ++x) {
      in_row += row[x];
      out[x + 1] = above[x + 1] + in_row;
    }
  }
  return sums;
}

}  // namespace

GrayImage dark_pixels(const GrayImage& image, int window, int offset) {
  const std::vector<std::uint32_t> sums = integral_of(image);
  const std::size_t stride = static_cast<std::size_t>(image.width) + 1;
  const int half = window / 2;
  GrayImage dark(image.width, image.height, 0);
  for (int y = 0; y < image.height; ++y) {
    const int top = std::max(0, y - half);
    const int bottom = std::min(image.height, y + half + 1);
    const std::uint32_t* upper = sums.data() + static_cast<std::size_t>(top) * stride;
    const std::uint32_t* lower = sums.data() + static_cast<std::size_t>(bottom) * stride;
    for (int x = 0; x < image.width; ++x) {
      const int left = std::max(0, x - half);
      const int right = std::min(image.width, x + half + 1);
      const std::uint32_t sum = lower[right] - lower[left] - upper[right] + upper[left];
      const auto count = static_cast<std::uint32_t>((right - left) * (bottom - top));
      dark.at(x, y) = (image.at(x, y) + static_cast<std::uint32_t>(offset)) * count < sum ? 1 : 0;
    }
  }
  return dark;
}

}  // namespace rackside::labels
