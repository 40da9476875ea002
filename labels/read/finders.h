#pragma once

#include <vector>

#include "labels/image/image.h"
#include "labels/read/decoder.h"

namespace rackside::labels {

/// How a module lies in the picture, but for its turn: the matrix T·Tᵀ, where T takes a step of one module to pixels.
/// Lengths measured with its inverse are modules, whatever the slant of the view.
struct ModuleShape {
  double xx = 1;
  double xy = 0;
  double yy = 1;

  double area() const;  ///< of a module, pixels
  /// The inner product of two pixel vectors, in modules.
  double inner(const PixelPoint& a, const PixelPoint& b) const;
  /// A vector turned by a right angle on the label: from rightwards to downwards.
  PixelPoint turned(const PixelPoint& v) const;
};
ModuleShape between(const ModuleShape& a, const ModuleShape& b);

/// A place that looks like a finder pattern: dark and light in runs of 1:1:3:1:1 in all directions.
/// Source: ISO/IEC 18004, finder pattern.
struct FinderPattern {
  PixelPoint center;
  ModuleShape shape;
  double quality = 0;  ///< 0..1: the part of the directions that look right
};

/// Those whose modules measure about 1.2 to 7 pixels; larger ones are found in a smaller copy of the picture.
/// `window`: how far around light and dark are judged, as threshold_of has it. `known`: symbols of this picture inside
/// which none is looked for.
std::vector<FinderPattern> find_finder_patterns(const GrayImage& image, int window, const std::vector<Corners>& known);

}  // namespace rackside::labels
