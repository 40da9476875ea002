#pragma once

#include <vector>

#include "labels/read/grid.h"

namespace rackside::labels {

/// The levels of the modules with blur, smear and overshoot taken back: a linear filter of each module's surroundings,
/// learnt on the modules that are known beforehand, and then on its own clear decisions. `ridge`: how much it is held
/// to what does nothing. Source: least mean squares equalization, as in data transmission; ridge regression in closed
/// form.
std::vector<float> equalized(const Patch& patch, const Grid& grid, int rounds, float ridge);

}  // namespace rackside::labels
