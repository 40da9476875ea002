#include "labels/read/candidates.h"

#include <algorithm>
#include <cmath>

namespace rackside::labels {
namespace {

constexpr double kLeastModules = 9;  ///< version 1 has 14; perspective shortens
constexpr double kMostModules = 60;  ///< version 10 has 50: ours are 1 to 4, foreign ones larger
constexpr double kMostOddness = 0.9;
constexpr double kMargin = 8;  ///< modules around the finders' centres: half a finder, the quiet zone, some slack
constexpr double kPixelsPerModule = 5;

struct Vector {
  double x;
  double y;
  double length() const { return std::hypot(x, y); }
};

/// In modules: the different scales along x and y are taken out, by the mean of both patterns.
Vector between(const FinderPattern& a, const FinderPattern& b) {
  return {(b.center.x - a.center.x) * 2 / (a.module_x + b.module_x),
          (b.center.y - a.center.y) * 2 / (a.module_y + b.module_y)};
}

bool alike(const FinderPattern& a, const FinderPattern& b) {
  const auto near = [](double p, double q) { return p < 1.8 * q && q < 1.8 * p; };
  return near(a.module_x, b.module_x) && near(a.module_y, b.module_y);
}

/// Those that could share a symbol with patterns[from].
std::vector<std::size_t> neighbours(const std::vector<FinderPattern>& patterns, std::size_t from) {
  std::vector<std::size_t> near;
  for (std::size_t i = 0; i < patterns.size(); ++i) {
    if (i == from || !alike(patterns[from], patterns[i])) continue;
    const double modules = between(patterns[from], patterns[i]).length();
    if (modules >= kLeastModules && modules <= kMostModules) near.push_back(i);
  }
  return near;
}

/// 0 for a right angle and equal sides; a distance that is no symbol's size counts a little.
double oddness(const Vector& right, const Vector& below) {
  const double a = right.length();
  const double b = below.length();
  const double cosine = std::abs(right.x * below.x + right.y * below.y) / (a * b);
  return cosine + std::abs(std::log(a / b)) + ((a + b) / 2) / 400;
}

}  // namespace

std::vector<Candidate> candidates_of(const std::vector<FinderPattern>& patterns) {
  std::vector<Candidate> candidates;
  for (std::size_t corner = 0; corner < patterns.size(); ++corner) {
    const std::vector<std::size_t> near = neighbours(patterns, corner);
    for (const std::size_t right : near) {
      for (const std::size_t below : near) {
        if (right == below) continue;
        const Vector across = between(patterns[corner], patterns[right]);
        const Vector down = between(patterns[corner], patterns[below]);
        // In a picture that is no mirror image, "below" lies clockwise of "right".
        if (across.x * down.y - across.y * down.x <= 0) continue;
        const double odd = oddness(across, down);
        if (odd > kMostOddness) continue;
        candidates.push_back({corner, right, below, (across.length() + down.length()) / 2, odd});
      }
    }
  }
  std::sort(candidates.begin(), candidates.end(),
            [](const Candidate& a, const Candidate& b) { return a.oddness < b.oddness; });
  return candidates;
}

PixelPoint Upright::to_picture(const PixelPoint& at) const {
  return {origin.x + at.x * step_x.x + at.y * step_y.x, origin.y + at.x * step_x.y + at.y * step_y.y};
}

Upright straighten(const GrayImage& picture, const std::vector<FinderPattern>& patterns, const Candidate& candidate) {
  const PixelPoint corner = patterns[candidate.corner].center;
  const PixelPoint right = patterns[candidate.right].center;
  const PixelPoint below = patterns[candidate.below].center;
  const double pixels = candidate.modules * kPixelsPerModule;
  const double margin = kMargin * kPixelsPerModule;
  Upright upright;
  upright.step_x = {(right.x - corner.x) / pixels, (right.y - corner.y) / pixels};
  upright.step_y = {(below.x - corner.x) / pixels, (below.y - corner.y) / pixels};
  upright.origin = {corner.x - margin * (upright.step_x.x + upright.step_y.x),
                    corner.y - margin * (upright.step_x.y + upright.step_y.y)};
  const int side = static_cast<int>(pixels + 2 * margin);
  upright.image = GrayImage(side, side);
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < side; ++x) {
      const PixelPoint at = upright.to_picture({static_cast<double>(x), static_cast<double>(y)});
      const double px = std::clamp(at.x, 0.0, picture.width - 1.001);
      const double py = std::clamp(at.y, 0.0, picture.height - 1.001);
      const int left = static_cast<int>(px);
      const int top = static_cast<int>(py);
      const double fx = px - left;
      const double fy = py - top;
      const double upper = picture.at(left, top) * (1 - fx) + picture.at(left + 1, top) * fx;
      const double lower = picture.at(left, top + 1) * (1 - fx) + picture.at(left + 1, top + 1) * fx;
      upright.image.at(x, y) = static_cast<std::uint8_t>(upper * (1 - fy) + lower * fy + 0.5);
    }
  }
  return upright;
}

}  // namespace rackside::labels
