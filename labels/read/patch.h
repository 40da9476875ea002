#pragma once

#include <algorithm>
#include <array>
#include <span>
#include <vector>

#include "labels/image/image.h"
#include "labels/read/decoder.h"

namespace rackside::labels {

/// From the plane of a symbol, in modules, to the picture.
class Projection {
 public:
  /// The map that takes the four corners of the square (low, low) .. (high, high), clockwise from the top left, to
  /// `to`.
  Projection(double low, double high, const Corners& to);
  PixelPoint operator()(double u, double v) const {
    const double divisor = 1 / (m_[6] * u + m_[7] * v + 1);
    return {(m_[0] * u + m_[1] * v + m_[2]) * divisor, (m_[3] * u + m_[4] * v + m_[5]) * divisor};
  }
  /// The same to a copy of the picture one pixel of which is `shrunk` of its pixels.
  Projection to_copy(double shrunk) const;
  /// Many places at once, x and y a list each. To a 1/1000 pixel in a picture of 4000.
  void map(std::span<const float> u, std::span<const float> v, std::span<float> x, std::span<float> y) const;

 private:
  std::array<double, 8> m_{};
};

inline constexpr int kPatchScale = 3;   ///< pixels a module
inline constexpr int kPatchMargin = 3;  ///< modules around the symbol

/// A candidate's symbol, upright and square.
struct Patch {
  int size = 0;  ///< modules
  int side = 0;  ///< pixels
  GrayImage image;
  std::vector<float> level;  ///< -1 as dark as it gets nearby, 1 as light
  float contrast = 0;        ///< between dark and light, of 255, in the middle
  float washed_out = 0;      ///< part of the symbol whose contrast is lost to a reflection

  /// Where a place in modules lies along either way, pixels of the patch.
  static double pixel(double place) { return (place + kPatchMargin) * kPatchScale - 0.5; }
  /// The level at a place in modules, between pixels.
  float at(double u, double v) const { return at_pixel(static_cast<float>(pixel(u)), static_cast<float>(pixel(v))); }
  /// Likewise at a place in pixels; outside of the patch the nearest inside. Here, for loops over thousands of them.
  float at_pixel(float x, float y) const {
    const float most = static_cast<float>(side) - 1.001F;
    x = std::clamp(x, 0.0F, most);
    y = std::clamp(y, 0.0F, most);
    const int left = static_cast<int>(x);
    const int top = static_cast<int>(y);
    const float part_x = x - static_cast<float>(left);
    const float part_y = y - static_cast<float>(top);
    const float* p = level.data() + static_cast<std::size_t>(top * side + left);
    const float upper = p[0] + (p[1] - p[0]) * part_x;
    const float lower = p[side] + (p[side + 1] - p[side]) * part_x;
    return upper + (lower - upper) * part_y;
  }
};

enum class Leveling {
  extremes,  ///< halfway between the darkest and lightest nearby
  means,     ///< the mean nearby: steadier in glare and noise
};

Patch cut_patch(const GrayImage& image, const Projection& to_image, int size);
void level_patch(Patch& patch, Leveling leveling);

}  // namespace rackside::labels
