#pragma once

#include <array>
#include <vector>

#include "labels/read/patch.h"

namespace rackside::labels {

/// Where the modules of a patch really lie: moved at each corner, and bent as paper on a curved front is.
/// Units: modules.
struct Grid {
  /// x and y of the four corners, clockwise from the top left; then how far the middle of a row moves along and across,
  /// and the middle of a column.
  std::array<double, 12> moves{};

  PixelPoint at(double u, double v, int size) const;
};

/// How well a patch's known modules are what they should be: 1 perfect, 0 by chance.
double fit_of_known(const Patch& patch, const Grid& grid);

/// Looks for the fourth corner, which no finder pattern marks.
Grid with_fourth_corner(const Patch& patch);
/// Moves everything a little for the best fit.
Grid refined(const Patch& patch, const Grid& grid);

/// The levels in the middles of the modules, row by row.
std::vector<float> sampled(const Patch& patch, const Grid& grid);

}  // namespace rackside::labels
