#pragma once

#include <array>
#include <vector>

#include "labels/read/finders.h"

namespace rackside::labels {

/// Three finder patterns that may be the corners of one symbol.
struct Candidate {
  std::size_t corner = 0;  ///< top left, index into the patterns
  std::size_t right = 0;   ///< top right
  std::size_t below = 0;   ///< bottom left
  double modules = 0;      ///< from centre to centre, about: 14 for version 1, 4 more for each version
  double oddness = 0;      ///< 0 for a perfect square; the best are tried first
};

/// Every triple whose corner is about a right one and whose sides are about equal, once the different scale along x and
/// y is taken out; the best first.
std::vector<Candidate> candidates_of(const std::vector<FinderPattern>& patterns);

/// A view of the picture in which the candidate's symbol stands upright and square.
struct Upright {
  GrayImage image;
  /// From a pixel of the view to the picture.
  PixelPoint to_picture(const PixelPoint& at) const;

  PixelPoint origin;  ///< of the view's (0, 0)
  PixelPoint step_x;  ///< one pixel of the view to the right
  PixelPoint step_y;  ///< and down
};
Upright straighten(const GrayImage& picture, const std::vector<FinderPattern>& patterns, const Candidate& candidate);

}  // namespace rackside::labels
