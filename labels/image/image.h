#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace rackside::labels {

/// 8 bits a pixel, row by row, 0 is black.
struct GrayImage {
  int width = 0;
  int height = 0;
  std::vector<std::uint8_t> pixels;

  GrayImage() = default;
  GrayImage(int w, int h, std::uint8_t fill = 255)
      : width(w), height(h), pixels(static_cast<std::size_t>(w) * static_cast<std::size_t>(h), fill) {}
  std::size_t index(int x, int y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x);
  }
  std::uint8_t at(int x, int y) const { return pixels[index(x, y)]; }
  std::uint8_t& at(int x, int y) { return pixels[index(x, y)]; }
};

/// 3 bytes a pixel: red, green, blue.
struct ColorImage {
  int width = 0;
  int height = 0;
  std::vector<std::uint8_t> pixels;

  ColorImage() = default;
  ColorImage(int w, int h)
      : width(w), height(h), pixels(3 * static_cast<std::size_t>(w) * static_cast<std::size_t>(h)) {}
  std::size_t index(int x, int y) const {
    return 3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x));
  }
};

/// A picture of more pixels is refused before any memory is taken for it.
inline constexpr std::int64_t kMostPixels = 100'000'000;

}  // namespace rackside::labels
