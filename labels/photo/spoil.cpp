#include "labels/photo/spoil.h"

#include <algorithm>
#include <cmath>

#include "labels/photo/scene.h"

namespace rackside::labels {
namespace {

std::uint8_t to_byte(double value) {
  return static_cast<std::uint8_t>(std::clamp(value + 0.5, 0.0, 255.0));
}

std::vector<float> gaussian_weights(double deviation) {
  const int reach = static_cast<int>(std::ceil(3 * deviation));
  std::vector<float> weights;
  float sum = 0;
  for (int i = -reach; i <= reach; ++i) {
    weights.push_back(static_cast<float>(std::exp(-i * i / (2 * deviation * deviation))));
    sum += weights.back();
  }
  for (float& weight : weights) weight /= sum;
  return weights;
}

/// Adds `weight` times the bytes to the sums.
void accumulate(std::vector<float>& sums, const std::uint8_t* bytes, float weight) {
  for (std::size_t i = 0; i < sums.size(); ++i) sums[i] += weight * bytes[i];
}

void store(const std::vector<float>& sums, std::uint8_t* out) {
  for (std::size_t i = 0; i < sums.size(); ++i) out[i] = static_cast<std::uint8_t>(sums[i] + 0.5F);
}

/// Each row is the sum of the rows around it.
ColorImage blurred_down(const ColorImage& image, const std::vector<float>& weights) {
  ColorImage out(image.width, image.height);
  const int reach = static_cast<int>(weights.size() / 2);
  std::vector<float> sums(3 * static_cast<std::size_t>(image.width));
  for (int y = 0; y < image.height; ++y) {
    std::fill(sums.begin(), sums.end(), 0.0F);
    for (int i = -reach; i <= reach; ++i) {
      const int from = std::clamp(y + i, 0, image.height - 1);
      accumulate(sums, image.pixels.data() + image.index(0, from), weights[static_cast<std::size_t>(i + reach)]);
    }
    store(sums, out.pixels.data() + out.index(0, y));
  }
  return out;
}

/// Each row is the sum of its own shifted copies; its ends are repeated beyond it.
ColorImage blurred_across(const ColorImage& image, const std::vector<float>& weights) {
  ColorImage out(image.width, image.height);
  const std::size_t reach = weights.size() / 2;
  const std::size_t bytes = 3 * static_cast<std::size_t>(image.width);
  std::vector<float> sums(bytes);
  std::vector<std::uint8_t> padded(bytes + 6 * reach);
  for (int y = 0; y < image.height; ++y) {
    const std::uint8_t* row = image.pixels.data() + image.index(0, y);
    std::copy_n(row, bytes, padded.begin() + static_cast<std::ptrdiff_t>(3 * reach));
    for (std::size_t i = 0; i < 3 * reach; ++i) {
      padded[i] = row[i % 3];
      padded[3 * reach + bytes + i] = row[bytes - 3 + i % 3];
    }
    std::fill(sums.begin(), sums.end(), 0.0F);
    for (std::size_t i = 0; i < weights.size(); ++i) accumulate(sums, padded.data() + 3 * i, weights[i]);
    store(sums, out.pixels.data() + out.index(0, y));
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
      const double away = std::sqrt((x - lamp_x) * (x - lamp_x) + (y - lamp_y) * (y - lamp_y)) / reach;
      const double light = exposure * (1 - unevenness * std::min(1.0, 1.6 * away * away + 0.2 * away));
      std::uint8_t* pixel = image.pixels.data() + image.index(x, y);
      for (int c = 0; c < 3; ++c) pixel[c] = to_byte(pixel[c] * light * kWarm[c]);
    }
  }
}

void blur(ColorImage& image, double deviation) {
  if (deviation <= 0) return;
  const std::vector<float> weights = gaussian_weights(deviation);
  image = blurred_down(blurred_across(image, weights), weights);
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
