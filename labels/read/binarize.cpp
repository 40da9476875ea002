#include "labels/read/binarize.h"

#include <algorithm>

namespace rackside::labels {
namespace {

constexpr float kLowered = 0.97F;  ///< of the mean: noise on plain paper is no ink
constexpr float kLeastStep = 2;    ///< grey values under the mean, in the dark

/// Means of the squares. Those at the right and lower edge may be smaller.
std::vector<float> cells_of(const GrayImage& image, int columns, int rows) {
  std::vector<float> means(static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows));
  std::vector<std::uint32_t> sums(static_cast<std::size_t>(columns));
  for (int row = 0; row < rows; ++row) {
    std::fill(sums.begin(), sums.end(), 0);
    const int top = row * kThresholdCell;
    const int bottom = std::min(image.height, top + kThresholdCell);
    for (int y = top; y < bottom; ++y) {
      const std::uint8_t* line = image.pixels.data() + image.index(0, y);
      const int whole = image.width / kThresholdCell;
      for (int column = 0; column < whole; ++column, line += kThresholdCell)
        sums[static_cast<std::size_t>(column)] += line[0] + line[1] + line[2] + line[3];
      for (int x = whole * kThresholdCell; x < image.width; ++x, ++line) sums[static_cast<std::size_t>(whole)] += *line;
    }
    float* out = means.data() + static_cast<std::size_t>(row) * static_cast<std::size_t>(columns);
    for (int column = 0; column < columns; ++column) {
      const int width = std::min(kThresholdCell, image.width - column * kThresholdCell);
      out[column] =
          static_cast<float>(sums[static_cast<std::size_t>(column)]) / static_cast<float>(width * (bottom - top));
    }
  }
  return means;
}

/// Running means along a line of `count` values that lie `step` apart.
void mean_along(const float* in, float* out, int count, std::size_t step, int reach) {
  float sum = 0;
  int first = 0;
  int last = 0;  // one behind the window
  for (int i = 0; i < count; ++i) {
    for (; last < std::min(count, i + reach + 1); ++last) sum += in[static_cast<std::size_t>(last) * step];
    for (; first < i - reach; ++first) sum -= in[static_cast<std::size_t>(first) * step];
    out[static_cast<std::size_t>(i) * step] = sum / static_cast<float>(last - first);
  }
}

}  // namespace

ThresholdMap threshold_of(const GrayImage& image, int reach) {
  static_assert(kThresholdCell == 4);
  ThresholdMap map;
  map.columns = (image.width + kThresholdCell - 1) / kThresholdCell;
  map.rows = (image.height + kThresholdCell - 1) / kThresholdCell;
  map.grey = cells_of(image, map.columns, map.rows);
  std::vector<float> along(map.grey.size());
  const auto columns = static_cast<std::size_t>(map.columns);
  for (std::size_t row = 0; row < static_cast<std::size_t>(map.rows); ++row)
    mean_along(map.grey.data() + row * columns, along.data() + row * columns, map.columns, 1, reach);
  for (std::size_t column = 0; column < columns; ++column)
    mean_along(along.data() + column, map.grey.data() + column, map.rows, columns, reach);
  for (float& grey : map.grey) grey = std::min(grey * kLowered, grey - kLeastStep);
  return map;
}

}  // namespace rackside::labels
