#pragma once

#include "labels/image/image.h"

namespace rackside::labels {

/// The grey that parts dark from light, for each square of kThresholdCell pixels: the mean of the squares around it, a
/// little lowered, so that noise on plain paper is light. Uneven light so does no harm.
/// Source: the adaptive mean threshold (Bradley and Roth, 2007), taken in squares for speed.
inline constexpr int kThresholdCell = 4;
struct ThresholdMap {
  int columns = 0;
  int rows = 0;
  std::vector<float> grey;

  const float* row(int y) const {
    return grey.data() + static_cast<std::size_t>(y / kThresholdCell) * static_cast<std::size_t>(columns);
  }
  float at(int x, int y) const { return row(y)[x / kThresholdCell]; }
};

/// `reach`: how many squares on each side are taken into the mean.
ThresholdMap threshold_of(const GrayImage& image, int reach);

}  // namespace rackside::labels
