#include "labels/read/equalize.h"

#include <array>
#include <cmath>

#include "labels/read/pattern.h"

namespace rackside::labels {
namespace {

constexpr int kReach = 3;  ///< half modules on each side
constexpr std::size_t kTaps =
    (2 * kReach + 1) * (2 * kReach + 1) + 1;  ///< and one for the middle between dark and light
constexpr double kGuessWeight = 0.4;          ///< of a module whose colour is only a decision
constexpr float kClearDecision = 0.25F;

using Taps = std::array<float, kTaps>;
using Matrix = std::array<Taps, kTaps>;

std::vector<Taps> surroundings(const Patch& patch, const Grid& grid) {
  std::vector<Taps> all;
  all.reserve(static_cast<std::size_t>(patch.size * patch.size));
  for (int row = 0; row < patch.size; ++row) {
    for (int column = 0; column < patch.size; ++column) {
      const PixelPoint at = grid.at(column + 0.5, row + 0.5, patch.size);
      Taps taps;
      std::size_t i = 0;
      for (int y = -kReach; y <= kReach; ++y) {
        for (int x = -kReach; x <= kReach; ++x) taps[i++] = patch.at(at.x + 0.5 * x, at.y + 0.5 * y);
      }
      taps[i] = 1;
      all.push_back(taps);
    }
  }
  return all;
}

/// Solves for the filter in place by Cholesky's way. The ridge keeps the matrix positive.
Taps solved(Matrix& a, Taps& b) {
  for (std::size_t j = 0; j < kTaps; ++j) {
    for (std::size_t k = 0; k < j; ++k) a[j][j] -= a[j][k] * a[j][k];
    a[j][j] = std::sqrt(std::max(a[j][j], 1e-6F));
    for (std::size_t i = j + 1; i < kTaps; ++i) {
      for (std::size_t k = 0; k < j; ++k) a[i][j] -= a[i][k] * a[j][k];
      a[i][j] /= a[j][j];
    }
  }
  for (std::size_t i = 0; i < kTaps; ++i) {
    for (std::size_t k = 0; k < i; ++k) b[i] -= a[i][k] * b[k];
    b[i] /= a[i][i];
  }
  Taps filter{};
  for (std::size_t i = kTaps; i-- > 0;) {
    for (std::size_t k = i + 1; k < kTaps; ++k) b[i] -= a[k][i] * b[k];
    b[i] /= a[i][i];
    filter[i] = b[i];
  }
  return filter;
}

Taps learnt(const std::vector<Taps>& taps, const std::vector<float>& target, const std::vector<float>& weight,
            float ridge) {
  Matrix a{};
  Taps b{};
  const std::size_t middle = (kTaps - 1) / 2;
  for (std::size_t m = 0; m < taps.size(); ++m) {
    if (weight[m] <= 0) continue;
    for (std::size_t i = 0; i < kTaps; ++i) {
      const float scaled = taps[m][i] * weight[m];
      // Both halves, though one would do: loops of one length run side by side in the processor.
      for (std::size_t j = 0; j < kTaps; ++j) a[i][j] += scaled * taps[m][j];
      b[i] += scaled * target[m];
    }
  }
  for (std::size_t i = 0; i < kTaps; ++i) a[i][i] += ridge;
  b[middle] += ridge;
  return solved(a, b);
}

}  // namespace

std::vector<float> equalized(const Patch& patch, const Grid& grid, int rounds, float ridge) {
  const KnownPattern& known = known_pattern(patch.size);
  const std::vector<Taps> taps = surroundings(patch, grid);
  std::vector<float> level(taps.size(), 0);
  std::vector<float> target(taps.size(), 0);
  std::vector<float> weight(taps.size(), 0);
  for (int round = 0; round < rounds; ++round) {
    for (std::size_t m = 0; m < taps.size(); ++m) {
      const bool is_known = known.modules[m] != 0;
      target[m] = is_known ? known.modules[m] : level[m] > 0 ? 1.0F : -1.0F;
      weight[m] = is_known                                           ? 1.0F
                  : round > 0 && std::abs(level[m]) > kClearDecision ? static_cast<float>(kGuessWeight)
                                                                     : 0;
    }
    const Taps filter = learnt(taps, target, weight, ridge);
    for (std::size_t m = 0; m < taps.size(); ++m) {
      float sum = 0;
      for (std::size_t i = 0; i < kTaps; ++i) sum += filter[i] * taps[m][i];
      level[m] = sum;
    }
  }
  return level;
}

}  // namespace rackside::labels
