#pragma once

#include <string>

#include "core/base/bytes.h"
#include "labels/image/image.h"

namespace rackside::labels {

bool is_png(core::ByteSpan bytes);

/// Grey picture of any PNG: palette, 16 bits, transparency (on white), interlaced.
/// Errors: unreadable_image when it is damaged, cut short or larger than kMostPixels (checked first). `name` is said.
GrayImage read_png(core::ByteSpan bytes, const std::string& name);

/// One bit a pixel (below 128 is black), with the resolution stated, for label printers.
std::string write_png_one_bit(const GrayImage& image, int dpi);

/// Eight bits a pixel.
std::string write_png_gray(const GrayImage& image, int dpi);

}  // namespace rackside::labels
