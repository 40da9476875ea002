#pragma once

#include "labels/image/image.h"

namespace rackside::labels {

/// 1 where a pixel is darker than the mean of the square window around it by more than `offset`, else 0, in the
/// pixels of an image as large. Uneven light so does no harm.
/// Shape:  `window` is odd and at least 3.
/// Source: the adaptive mean threshold on an integral image (Bradley and Roth, 2007).
GrayImage dark_pixels(const GrayImage& image, int window, int offset);

}  // namespace rackside::labels
