#pragma once

#include <string>
#include <vector>

#include "labels/design/picture.h"
#include "labels/image/image.h"

namespace rackside::labels {

// One drawing code (canvas.cpp) behind every form of output. Symbols are drawn as filled rectangles, dark runs of a row
// merged, without anti-aliasing.
// Errors: internal when the drawing library fails.

/// One page a picture. Deterministic for one version of the libraries: the date inside is fixed.
std::string draw_pdf(const std::vector<Picture>& pages, const std::string& title);

std::string draw_svg(const Picture& picture);

/// On white; round(width × dpi / 25.4) pixels wide.
GrayImage draw_gray(const Picture& picture, int dpi);

/// Likewise in colour, for the made-up photos.
ColorImage draw_color(const Picture& picture, int dpi);

/// What a printer without greys makes of it: every pixel 0 or 255.
GrayImage draw_one_bit(const Picture& picture, int dpi);

}  // namespace rackside::labels
