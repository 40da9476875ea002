#include "labels/read/equalize.h"

#include <cmath>

#include "labels/read/pattern.h"

namespace rackside::labels {
namespace {

constexpr float kGuessWeight = 0.4F;  ///< of a module whose colour is only a decision
constexpr float kClearDecision = 0.25F;

}  // namespace

Equalizer::Equalizer(const Patch& patch, const Grid& grid)
    : known_(known_pattern(patch.size).modules), taps_(static_cast<std::size_t>(patch.size * patch.size)) {
  std::size_t module = 0;
  for (int row = 0; row < patch.size; ++row) {
    for (int column = 0; column < patch.size; ++column, ++module) {
      const PixelPoint at = grid.at(column + 0.5, row + 0.5, patch.size);
      Taps& taps = taps_[module];
      std::size_t i = 0;
      for (int y = -kReach; y <= kReach; ++y) {
        for (int x = -kReach; x <= kReach; ++x) taps[i++] = patch.at(at.x + 0.5 * x, at.y + 0.5 * y);
      }
      taps[i] = 1;
      if (known_[module] != 0) of_known_.add(taps, known_[module], 1);
    }
  }
}

void Equalizer::Equations::add(const Taps& taps, float target, float weight) {
  for (std::size_t i = 0; i < kTaps; ++i) {
    const float scaled = taps[i] * weight;
    // From a multiple of four on: a little of the other half is cheaper than a loop of odd length.
    for (std::size_t j = i / 4 * 4; j < kPadded; ++j) matrix[i][j] += scaled * taps[j];
    right[i] += scaled * target;
  }
}

/// By Cholesky's way, row by row of the upper half, in place. The ridge keeps the matrix positive.
Equalizer::Taps Equalizer::solved(Equations& equations) {
  std::array<Taps, kTaps>& a = equations.matrix;
  Taps& b = equations.right;
  for (std::size_t j = 0; j < kTaps; ++j) {
    a[j][j] = std::max(a[j][j], 1e-6F);
    const float scale = 1 / std::sqrt(a[j][j]);
    for (std::size_t i = j / 4 * 4; i < kPadded; ++i) a[j][i] *= scale;
    b[j] *= scale;
    for (std::size_t i = j + 1; i < kTaps; ++i) {
      const float part = a[j][i];
      for (std::size_t k = i / 4 * 4; k < kPadded; ++k) a[i][k] -= part * a[j][k];
      b[i] -= part * b[j];
    }
  }
  Taps filter{};
  for (std::size_t j = kTaps; j-- > 0;) {
    float rest = b[j];
    for (std::size_t i = j + 1; i < kTaps; ++i) rest -= a[j][i] * filter[i];
    filter[j] = rest / a[j][j];
  }
  return filter;
}

void Equalizer::apply(Equations equations) {
  for (std::size_t i = 0; i < kTaps; ++i) equations.matrix[i][i] += ridge_;
  equations.right[kMiddle] += ridge_;
  const Taps filter = solved(equations);
  level_.assign(taps_.size(), 0);
  for (std::size_t module = 0; module < taps_.size(); ++module) {
    std::array<float, 4> sums{};
    for (std::size_t i = 0; i < kPadded; i += 4) {
      for (std::size_t k = 0; k < 4; ++k) sums[k] += filter[i + k] * taps_[module][i + k];
    }
    level_[module] = (sums[0] + sums[1]) + (sums[2] + sums[3]);
  }
}

const std::vector<float>& Equalizer::first_round(float ridge) {
  ridge_ = ridge;
  apply(of_known_);
  return level_;
}

const std::vector<float>& Equalizer::next_round() {
  Equations equations = of_known_;
  for (std::size_t module = 0; module < taps_.size(); ++module) {
    if (known_[module] != 0 || std::abs(level_[module]) <= kClearDecision) continue;
    equations.add(taps_[module], level_[module] > 0 ? 1.0F : -1.0F, kGuessWeight);
  }
  apply(equations);
  return level_;
}

}  // namespace rackside::labels
