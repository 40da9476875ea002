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

/// Running means along a row.
void mean_along(const float* in, float* out, int count, int reach) {
  float sum = 0;
  int first = 0;
  int last = 0;  // one behind the window
  for (int i = 0; i < count; ++i) {
    for (; last < std::min(count, i + reach + 1); ++last) sum += in[last];
    for (; first < i - reach; ++first) sum -= in[first];
    out[i] = sum / static_cast<float>(last - first);
  }
}

/// The same down all columns at once: row upon row, many values at a time.
void mean_down(const std::vector<float>& in, std::vector<float>& out, int columns, int rows, int reach) {
  std::vector<float> sums(static_cast<std::size_t>(columns));
  const auto add = [&](int row, float sign) {
    const float* from = in.data() + static_cast<std::size_t>(row) * sums.size();
    for (std::size_t i = 0; i < sums.size(); ++i) sums[i] += sign * from[i];
  };
  int first = 0;
  int last = 0;
  for (int row = 0; row < rows; ++row) {
    for (; last < std::min(rows, row + reach + 1); ++last) add(last, 1);
    for (; first < row - reach; ++first) add(first, -1);
    const auto count = static_cast<float>(last - first);
    float* to = out.data() + static_cast<std::size_t>(row) * sums.size();
    for (std::size_t i = 0; i < sums.size(); ++i) to[i] = sums[i] / count;
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
  for (int row = 0; row < map.rows; ++row) {
    const auto begin = static_cast<std::size_t>(row) * static_cast<std::size_t>(map.columns);
    mean_along(map.grey.data() + begin, along.data() + begin, map.columns, reach);
  }
  mean_down(along, map.grey, map.columns, map.rows, reach);
  for (float& grey : map.grey) grey = std::min(grey * kLowered, grey - kLeastStep);
  return map;
}

}  // namespace rackside::labels
