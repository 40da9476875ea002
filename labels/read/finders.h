#pragma once

#include <vector>

#include "labels/image/image.h"
#include "labels/read/decoder.h"

namespace rackside::labels {

/// A place that looks like a finder pattern: dark and light in runs of 1:1:3:1:1 along x and along y.
/// Source: ISO/IEC 18004, finder pattern.
struct FinderPattern {
  PixelPoint center;
  double module_x = 0;  ///< pixels a module along x
  double module_y = 0;  ///< and along y: they differ when the label is seen from the side
  int hits = 0;         ///< rows that crossed it
};

/// All of them in an image of 0 and 1 (see dark_pixels), those crossed by one row only left out.
std::vector<FinderPattern> find_finder_patterns(const GrayImage& dark);

}  // namespace rackside::labels
