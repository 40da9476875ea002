#pragma once

#include <vector>

#include "labels/image/image.h"
#include "labels/symbol/symbol.h"

namespace rackside::labels {

/// How far ink or heat spreads at each edge, in modules. Common practice, no source.
inline constexpr double kPrintGrowth = 0.15;

/// A picture whose dark parts reach `pixels` further on every side; parts of a pixel become grey.
GrayImage grown(const GrayImage& picture, double pixels);

/// The modules that a thumb drags ink over: a streak from the right edge inwards, over so many codewords as half of
/// what the symbol's level is said to restore, and over data only: a finder pattern is beyond what any level corrects.
/// Source of the shares (7, 15, 25, 30 %): ISO/IEC 18004, recovery capacity of the levels L, M, Q, H.
/// Ensures: at least one codeword, never more than the level corrects.
std::vector<std::pair<int, int>> smeared_modules(const Symbol& symbol);

}  // namespace rackside::labels
