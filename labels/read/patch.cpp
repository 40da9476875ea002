#include "labels/read/patch.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace rackside::labels {
namespace {

constexpr int kNear = 3;  ///< modules on each side that dark and light are compared with
constexpr float kLeastContrast = 5;
constexpr float kWashedOut = 0.45F;  ///< of the symbol's best contrast
constexpr float kBright = 200;
constexpr float kMostLevel = 1.3F;

/// One value a module, row by row.
struct Field {
  int side;
  std::vector<float> values;
  explicit Field(int s) : side(s), values(static_cast<std::size_t>(s * s)) {}
  float* row(int y) { return values.data() + static_cast<std::size_t>(y * side); }
  const float* row(int y) const { return values.data() + static_cast<std::size_t>(y * side); }
};

Field turned(const Field& in) {
  Field out(in.side);
  for (int y = 0; y < in.side; ++y) {
    for (int x = 0; x < in.side; ++x) out.row(x)[y] = in.row(y)[x];
  }
  return out;
}

/// Each value with those near it in its column. Row upon row: loops that the compiler does many values at a time.
template <class Combine>
Field gathered_down(const Field& in, Combine combine) {
  Field out = in;
  for (int y = 0; y < in.side; ++y) {
    float* to = out.row(y);
    for (int near = std::max(0, y - kNear); near < std::min(in.side, y + kNear + 1); ++near) {
      const float* from = in.row(near);
      if (near == y) continue;
      for (int x = 0; x < in.side; ++x) to[x] = combine(to[x], from[x]);
    }
  }
  return out;
}

template <class Combine>
Field gathered(const Field& in, Combine combine) {
  return turned(gathered_down(turned(gathered_down(in, combine)), combine));
}

// Not functions: the compiler shall see through them.
constexpr auto least = [](float a, float b) { return a < b ? a : b; };
constexpr auto most = [](float a, float b) { return a > b ? a : b; };

Field mean_nearby(const Field& in) {
  Field sums = gathered(in, [](float a, float b) { return a + b; });
  const auto count = [&](int at) { return std::min(in.side, at + kNear + 1) - std::max(0, at - kNear); };
  for (int y = 0; y < in.side; ++y) {
    for (int x = 0; x < in.side; ++x) sums.row(y)[x] /= static_cast<float>(count(x) * count(y));
  }
  return sums;
}

/// Of each module's pixels.
Field module_means(const GrayImage& image, int side) {
  Field out(side);
  std::vector<int> sums(static_cast<std::size_t>(image.width));
  for (int row = 0; row < side; ++row) {
    std::fill(sums.begin(), sums.end(), 0);
    for (int y = row * kPatchScale; y < (row + 1) * kPatchScale; ++y) {
      const std::uint8_t* line = image.pixels.data() + image.index(0, y);
      for (std::size_t x = 0; x < sums.size(); ++x) sums[x] += line[x];
    }
    const int* sum = sums.data();
    for (int column = 0; column < side; ++column, sum += kPatchScale)
      out.row(row)[column] = static_cast<float>(std::accumulate(sum, sum + kPatchScale, 0)) /
                             static_cast<float>(kPatchScale * kPatchScale);
  }
  return out;
}

/// Where a pixel lies between the middles of two modules; in steps of a module a level's base would show.
struct Between {
  int module;
  float part;  ///< of the next
};
std::vector<Between> between_modules(int modules) {
  std::vector<Between> places(static_cast<std::size_t>(modules * kPatchScale));
  const float last = static_cast<float>(modules) - 1.001F;
  for (std::size_t i = 0; i < places.size(); ++i) {
    const float at = std::clamp((static_cast<float>(i) + 0.5F) / kPatchScale - 0.5F, 0.0F, last);
    const int module = static_cast<int>(at);
    places[i] = {module, at - static_cast<float>(module)};
  }
  return places;
}

/// A row of a field, a value a pixel.
void stretch(const float* row, const std::vector<Between>& places, std::vector<float>& out) {
  for (std::size_t x = 0; x < places.size(); ++x) {
    const float* p = row + places[x].module;
    out[x] = p[0] + (p[1] - p[0]) * places[x].part;
  }
}

/// How much light there is to read by.
void judge_light(Patch& patch, const Field& low, const Field& high) {
  const auto inside = [&](auto look) {
    for (int y = kPatchMargin; y < patch.size + kPatchMargin; ++y) {
      for (int x = kPatchMargin; x < patch.size + kPatchMargin; ++x)
        look(high.row(y)[x] - low.row(y)[x], high.row(y)[x]);
    }
  };
  float sum = 0;
  float best = 0;
  inside([&](float contrast, float) {
    sum += contrast;
    best = most(best, contrast);
  });
  int washed_out = 0;
  inside([&](float contrast, float light) { washed_out += contrast < kWashedOut * best && light > kBright ? 1 : 0; });
  const auto area = static_cast<float>(patch.size * patch.size);
  patch.contrast = sum / area;
  patch.washed_out = static_cast<float>(washed_out) / area;
}

}  // namespace

Projection::Projection(double low, double high, const Corners& to) {
  // The unit square's map in closed form (Heckbert 1989), then its argument scaled.
  const PixelPoint& a = to[0];
  const PixelPoint& b = to[1];
  const PixelPoint& c = to[2];
  const PixelPoint& d = to[3];
  const double sx = a.x - b.x + c.x - d.x;
  const double sy = a.y - b.y + c.y - d.y;
  const double dx1 = b.x - c.x;
  const double dx2 = d.x - c.x;
  const double dy1 = b.y - c.y;
  const double dy2 = d.y - c.y;
  const double divisor = dx1 * dy2 - dx2 * dy1;
  const double g = divisor == 0 ? 0 : (sx * dy2 - dx2 * sy) / divisor;
  const double h = divisor == 0 ? 0 : (dx1 * sy - sx * dy1) / divisor;
  const double unit[8] = {
      b.x - a.x + g * b.x, d.x - a.x + h * d.x, a.x, b.y - a.y + g * b.y, d.y - a.y + h * d.y, a.y, g, h};
  const double scale = 1 / (high - low);
  const double shift = -low * scale;
  const double norm = 1 / (unit[6] * shift + unit[7] * shift + 1);
  for (std::size_t row = 0; row < 2; ++row) {
    m_[3 * row] = unit[3 * row] * scale * norm;
    m_[3 * row + 1] = unit[3 * row + 1] * scale * norm;
    m_[3 * row + 2] = (unit[3 * row] * shift + unit[3 * row + 1] * shift + unit[3 * row + 2]) * norm;
  }
  m_[6] = unit[6] * scale * norm;
  m_[7] = unit[7] * scale * norm;
}

Projection Projection::to_copy(double shrunk) const {
  // A pixel's middle is a whole number in both.
  const double shift = 0.5 / shrunk - 0.5;
  Projection copy = *this;
  for (const std::size_t row : {std::size_t{0}, std::size_t{3}}) {
    copy.m_[row] = m_[row] / shrunk + shift * m_[6];
    copy.m_[row + 1] = m_[row + 1] / shrunk + shift * m_[7];
    copy.m_[row + 2] = m_[row + 2] / shrunk + shift;
  }
  return copy;
}

void Projection::map(std::span<const float> u, std::span<const float> v, std::span<float> x, std::span<float> y) const {
  std::array<float, 8> m;
  std::transform(m_.begin(), m_.end(), m.begin(), [](double value) { return static_cast<float>(value); });
  for (std::size_t i = 0; i < u.size(); ++i) {
    const float divisor = 1 / (m[6] * u[i] + m[7] * v[i] + 1);
    x[i] = (m[0] * u[i] + m[1] * v[i] + m[2]) * divisor;
    y[i] = (m[3] * u[i] + m[4] * v[i] + m[5]) * divisor;
  }
}

Patch cut_patch(const GrayImage& image, const Projection& to_image, int size) {
  Patch patch;
  patch.size = size;
  patch.side = (size + 2 * kPatchMargin) * kPatchScale;
  patch.image = GrayImage(patch.side, patch.side);
  // Short of the last pixel, so that what lies beside it is one; in a long picture by more than a thousandth.
  const float most_x = std::nextafter(static_cast<float>(image.width - 1), 0.0F);
  const float most_y = std::nextafter(static_cast<float>(image.height - 1), 0.0F);
  const auto side = static_cast<std::size_t>(patch.side);
  const auto place = [](std::size_t pixel) { return (static_cast<float>(pixel) + 0.5F) / kPatchScale - kPatchMargin; };
  std::vector<float> u(side), v(side), xs(side), ys(side);
  for (std::size_t i = 0; i < side; ++i) u[i] = place(i);
  for (std::size_t row = 0; row < side; ++row) {
    std::fill(v.begin(), v.end(), place(row));
    to_image.map(u, v, xs, ys);
    // Written so that NaN is the corner.
    for (float& x : xs) x = x > 0 ? least(x, most_x) : 0;
    for (float& y : ys) y = y > 0 ? least(y, most_y) : 0;
    std::uint8_t* out = patch.image.pixels.data() + row * side;
    for (std::size_t i = 0; i < side; ++i) {
      const int left = static_cast<int>(xs[i]);
      const int top = static_cast<int>(ys[i]);
      const float fx = xs[i] - static_cast<float>(left);
      const float fy = ys[i] - static_cast<float>(top);
      const std::uint8_t* p = image.pixels.data() + image.index(left, top);
      const std::uint8_t* q = p + image.width;
      const float upper = static_cast<float>(p[0]) + static_cast<float>(p[1] - p[0]) * fx;
      const float lower = static_cast<float>(q[0]) + static_cast<float>(q[1] - q[0]) * fx;
      out[i] = static_cast<std::uint8_t>(static_cast<int>(upper + (lower - upper) * fy + 0.5F));
    }
  }
  return patch;
}

void level_patch(Patch& patch, Leveling leveling) {
  const int modules = patch.size + 2 * kPatchMargin;
  const Field means = module_means(patch.image, modules);
  const Field low = mean_nearby(gathered(means, least));
  const Field high = mean_nearby(gathered(means, most));
  Field base = leveling == Leveling::means ? mean_nearby(means) : low;
  Field scale(modules);
  for (std::size_t i = 0; i < base.values.size(); ++i) {
    if (leveling == Leveling::extremes) base.values[i] = (low.values[i] + high.values[i]) / 2;
    scale.values[i] = 2 / most(high.values[i] - low.values[i], kLeastContrast);
  }
  judge_light(patch, low, high);
  const std::vector<Between> places = between_modules(modules);
  const std::size_t side = places.size();
  // Stretched along rows: of the modules above and below a pixel.
  std::vector<float> base_above(side), base_below(side), scale_above(side), scale_below(side);
  patch.level.resize(patch.image.pixels.size());
  int above = -1;
  for (std::size_t y = 0; y < side; ++y) {
    if (places[y].module != above) {
      above = places[y].module;
      stretch(base.row(above), places, base_above);
      stretch(base.row(above + 1), places, base_below);
      stretch(scale.row(above), places, scale_above);
      stretch(scale.row(above + 1), places, scale_below);
    }
    const float part = places[y].part;
    const std::uint8_t* from = patch.image.pixels.data() + y * side;
    float* to = patch.level.data() + y * side;
    for (std::size_t x = 0; x < side; ++x) {
      const float middle = base_above[x] + (base_below[x] - base_above[x]) * part;
      const float factor = scale_above[x] + (scale_below[x] - scale_above[x]) * part;
      to[x] = least(most((static_cast<float>(from[x]) - middle) * factor, -kMostLevel), kMostLevel);
    }
  }
}

}  // namespace rackside::labels
