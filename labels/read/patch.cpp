#include "labels/read/patch.h"

#include <algorithm>
#include <cmath>

namespace rackside::labels {
namespace {

constexpr int kNear = 3;  ///< modules on each side that dark and light are compared with
constexpr float kLeastContrast = 5;
constexpr float kWashedOut = 0.45F;  ///< of the symbol's best contrast
constexpr float kBright = 200;

/// One value a module, row by row.
struct Field {
  int side;
  std::vector<float> values;
  Field(int s, float fill) : side(s), values(static_cast<std::size_t>(s * s), fill) {}
  float& at(int x, int y) { return values[static_cast<std::size_t>(y * side + x)]; }
  float at(int x, int y) const { return values[static_cast<std::size_t>(y * side + x)]; }
};

/// Along rows, then (the caller turns the field) along columns.
template <class Combine>
Field gathered(const Field& in, int reach, Combine combine) {
  Field rows(in.side, 0);
  for (int y = 0; y < in.side; ++y) {
    for (int x = 0; x < in.side; ++x) {
      const float* line = in.values.data() + static_cast<std::size_t>(y * in.side);
      rows.at(x, y) = combine(line, std::max(0, x - reach), std::min(in.side, x + reach + 1), 1);
    }
  }
  Field out(in.side, 0);
  for (int x = 0; x < in.side; ++x) {
    for (int y = 0; y < in.side; ++y) {
      const float* line = rows.values.data() + x;
      out.at(x, y) = combine(line, std::max(0, y - reach), std::min(in.side, y + reach + 1), in.side);
    }
  }
  return out;
}

float least(const float* line, int from, int to, int step) {
  float value = line[from * step];
  for (int i = from; i < to; ++i) value = std::min(value, line[i * step]);
  return value;
}
float most(const float* line, int from, int to, int step) {
  float value = line[from * step];
  for (int i = from; i < to; ++i) value = std::max(value, line[i * step]);
  return value;
}
float mean(const float* line, int from, int to, int step) {
  float sum = 0;
  for (int i = from; i < to; ++i) sum += line[i * step];
  return sum / static_cast<float>(to - from);
}

/// Of each module's pixels.
Field module_means(const GrayImage& image, int side) {
  Field out(side, 0);
  for (int y = 0; y < image.height; ++y) {
    const std::uint8_t* row = image.pixels.data() + image.index(0, y);
    for (int x = 0; x < image.width; ++x) out.at(x / kPatchScale, y / kPatchScale) += row[x];
  }
  for (float& value : out.values) value /= kPatchScale * kPatchScale;
  return out;
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

Patch cut_patch(const GrayImage& image, double shrunk, const Projection& to_picture, int size) {
  Patch patch;
  patch.size = size;
  patch.side = (size + 2 * kPatchMargin) * kPatchScale;
  patch.image = GrayImage(patch.side, patch.side);
  const double most_x = image.width - 1.001;
  const double most_y = image.height - 1.001;
  for (int y = 0; y < patch.side; ++y) {
    for (int x = 0; x < patch.side; ++x) {
      const PixelPoint at = to_picture((x + 0.5) / kPatchScale - kPatchMargin, (y + 0.5) / kPatchScale - kPatchMargin);
      // A picture's pixel (0, 0) has its middle at (0, 0). Written so that NaN is the corner.
      const double px = (at.x + 0.5) / shrunk - 0.5;
      const double py = (at.y + 0.5) / shrunk - 0.5;
      const double cx = px > 0 ? std::min(px, most_x) : 0;
      const double cy = py > 0 ? std::min(py, most_y) : 0;
      const int left = static_cast<int>(cx);
      const int top = static_cast<int>(cy);
      const auto fx = static_cast<float>(cx - left);
      const auto fy = static_cast<float>(cy - top);
      const std::uint8_t* p = image.pixels.data() + image.index(left, top);
      const std::uint8_t* q = p + image.width;
      const float upper = static_cast<float>(p[0]) + static_cast<float>(p[1] - p[0]) * fx;
      const float lower = static_cast<float>(q[0]) + static_cast<float>(q[1] - q[0]) * fx;
      patch.image.at(x, y) = static_cast<std::uint8_t>(upper + (lower - upper) * fy + 0.5F);
    }
  }
  return patch;
}

void level_patch(Patch& patch, Leveling leveling) {
  const int modules = patch.size + 2 * kPatchMargin;
  const Field means = module_means(patch.image, modules);
  Field low = gathered(gathered(means, kNear, least), kNear, mean);
  Field high = gathered(gathered(means, kNear, most), kNear, mean);
  const Field middle = gathered(means, kNear, mean);
  Field base(modules, 0);
  Field scale(modules, 0);
  float contrast = 0;
  float best_contrast = 0;
  for (int y = 0; y < modules; ++y) {
    for (int x = 0; x < modules; ++x) {
      const float range = std::max(high.at(x, y) - low.at(x, y), kLeastContrast);
      base.at(x, y) = leveling == Leveling::extremes ? (high.at(x, y) + low.at(x, y)) / 2 : middle.at(x, y);
      scale.at(x, y) = 2 / range;
      const bool inside =
          x >= kPatchMargin && y >= kPatchMargin && x < patch.size + kPatchMargin && y < patch.size + kPatchMargin;
      if (!inside) continue;
      contrast += high.at(x, y) - low.at(x, y);
      best_contrast = std::max(best_contrast, high.at(x, y) - low.at(x, y));
    }
  }
  patch.contrast = contrast / static_cast<float>(patch.size * patch.size);
  int washed_out = 0;
  for (int y = kPatchMargin; y < patch.size + kPatchMargin; ++y) {
    for (int x = kPatchMargin; x < patch.size + kPatchMargin; ++x)
      washed_out += high.at(x, y) - low.at(x, y) < kWashedOut * best_contrast && high.at(x, y) > kBright ? 1 : 0;
  }
  patch.washed_out = static_cast<float>(washed_out) / static_cast<float>(patch.size * patch.size);
  patch.level.resize(patch.image.pixels.size());
  // Between the modules' middles the base is interpolated along both ways; in steps of a module it would show.
  for (int y = 0; y < patch.side; ++y) {
    const float v =
        std::clamp((static_cast<float>(y) + 0.5F) / kPatchScale - 0.5F, 0.0F, static_cast<float>(modules) - 1.001F);
    const int row = static_cast<int>(v);
    const float fy = v - static_cast<float>(row);
    for (int x = 0; x < patch.side; ++x) {
      const float u =
          std::clamp((static_cast<float>(x) + 0.5F) / kPatchScale - 0.5F, 0.0F, static_cast<float>(modules) - 1.001F);
      const int column = static_cast<int>(u);
      const float fx = u - static_cast<float>(column);
      const auto mixed = [&](const Field& field) {
        const float upper = field.at(column, row) * (1 - fx) + field.at(column + 1, row) * fx;
        const float lower = field.at(column, row + 1) * (1 - fx) + field.at(column + 1, row + 1) * fx;
        return upper * (1 - fy) + lower * fy;
      };
      const auto i = patch.image.index(x, y);
      const float level = (static_cast<float>(patch.image.pixels[i]) - mixed(base)) * mixed(scale);
      patch.level[i] = std::clamp(level, -1.3F, 1.3F);
    }
  }
}

}  // namespace rackside::labels
