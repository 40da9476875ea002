#pragma once

#include "labels/image/image.h"

namespace rackside::labels {

/// Half as wide and high, each pixel the mean of four; an odd last row or column is left out.
GrayImage halved(const GrayImage& image);

}  // namespace rackside::labels
