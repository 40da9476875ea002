#include "labels/photo/spoil.h"

#include <algorithm>
#include <cmath>

#include "labels/photo/scene.h"

namespace rackside::labels {
namespace {

std::uint8_t to_byte(double value) {
  return static_cast<std::uint8_t>(std::clamp(value + 0.5, 0.0, 255.0));
}

std::vector<double> gaussian_weights(double deviation) {
  const int reach = static_cast<int>(std::ceil(3 * deviation));
  std::vector<double> weights;
  double sum = 0;
  for (int i = -reach; i <= reach; ++i) {
    weights.push_back(std::exp(-i * i / (2 * deviation * deviation)));
    sum += weights.back();
  }
  for (double& weight : weights) weight /= sum;
  return weights;
}

/// One pass along x (step 1, 0) or y (0, 1).
ColorImage blurred_along(const ColorImage& image, const std::vector<double>& weights, int step_x, int step_y) {
  ColorImage out(image.width, image.height);
  const int reach = static_cast<int>(weights.size() / 2);
  for (int y = 0; y < image.height; ++y) {
    for (int x = 0; x < image.width; ++x) {
      double sum[3] = {0, 0, 0};
      for (int i = -reach; i <= reach; ++i) {
        const int from_x = std::clamp(x + i * step_x, 0, image.width - 1);
        const int from_y = std::clamp(y + i * step_y, 0, image.height - 1);
        const std::uint8_t* from = image.pixels.data() + image.index(from_x, from_y);
        const double weight = weights[static_cast<std::size_t>(i + reach)];
        for (int c = 0; c < 3; ++c) sum[c] += weight * from[c];
      }
      std::uint8_t* to = out.pixels.data() + out.index(x, y);
      for (int c = 0; c < 3; ++c) to[c] = to_byte(sum[c]);
    }
  }
  return out;
}

}  // namespace

void light_unevenly(ColorImage& image, double unevenness, double exposure, std::mt19937& random) {
  const double lamp_x = image.width * (0.2 + 0.6 * uniform(random));
  const double lamp_y = image.height * 0.3 * uniform(random);
  const double reach = std::hypot(image.width, image.height);
  constexpr double kWarm[3] = {1.0, 0.975, 0.93};
  for (int y = 0; y < image.height; ++y) {
    for (int x = 0; x < image.width; ++x) {
      const double away = std::hypot(x - lamp_x, y - lamp_y) / reach;
      const double light = exposure * (1 - unevenness * std::min(1.0, 1.6 * away * away + 0.2 * away));
      std::uint8_t* pixel = image.pixels.data() + image.index(x, y);
      for (int c = 0; c < 3; ++c) pixel[c] = to_byte(pixel[c] * light * kWarm[c]);
    }
  }
}

void blur(ColorImage& image, double deviation) {
  if (deviation <= 0) return;
  const std::vector<double> weights = gaussian_weights(deviation);
  image = blurred_along(blurred_along(image, weights, 1, 0), weights, 0, 1);
}

void add_noise(ColorImage& image, double deviation, std::mt19937& random) {
  // Four uniform bytes of one draw: their sum is nearly Gaussian, with a standard deviation of 147.8.
  constexpr double kSumDeviation = 147.8;
  for (std::uint8_t& value : image.pixels) {
    const auto bits = static_cast<std::uint32_t>(random());
    const double sum = (bits & 255) + ((bits >> 8) & 255) + ((bits >> 16) & 255) + (bits >> 24) - 510.0;
    value = to_byte(value + sum / kSumDeviation * deviation);
  }
}

}  // namespace rackside::labels
