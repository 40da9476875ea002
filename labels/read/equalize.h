#pragma once

#include <array>
#include <vector>

#include "labels/read/grid.h"

namespace rackside::labels {

/// Takes blur, smear and overshoot back: a linear filter of each module's surroundings, learnt on the modules that are
/// known beforehand, and then on its own clear decisions too.
/// Source: least mean squares equalization, as in data transmission; ridge regression in closed form.
class Equalizer {
 public:
  Equalizer(const Patch& patch, const Grid& grid);

  /// The modules' levels by a filter that is learnt on the known modules alone. `ridge`: how much it is held to what
  /// does nothing. Valid until the next call, as that of next_round.
  const std::vector<float>& first_round(float ridge);
  /// By one that is learnt on the clear decisions of the round before as well.
  const std::vector<float>& next_round();

 private:
  static constexpr int kReach = 3;  ///< half modules on each side
  static constexpr std::size_t kSide = 2 * kReach + 1;
  static constexpr std::size_t kMiddle = kSide * kSide / 2;
  static constexpr std::size_t kTaps = kSide * kSide + 1;      ///< and one for the middle between dark and light
  static constexpr std::size_t kPadded = (kTaps + 3) / 4 * 4;  ///< what a processor's registers like
  using Taps = std::array<float, kPadded>;
  /// The normal equations of the regression: the upper half of a symmetric matrix, and the right side.
  struct Equations {
    std::array<Taps, kTaps> matrix{};
    Taps right{};
    void add(const Taps& taps, float target, float weight);
  };

  void apply(Equations equations);
  static Taps solved(Equations& equations);

  const std::vector<std::int8_t>& known_;
  std::vector<Taps> taps_;
  Equations of_known_;
  float ridge_ = 0;
  std::vector<float> level_;
};

}  // namespace rackside::labels
