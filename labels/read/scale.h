#pragma once

#include "labels/image/image.h"

namespace rackside::labels {

/// Twice as wide and high, interpolated linearly.
GrayImage enlarged(const GrayImage& image);

}  // namespace rackside::labels
