#pragma once

#include <string>

#include "core/base/bytes.h"
#include "labels/image/image.h"

namespace rackside::labels {

bool is_jpeg(core::ByteSpan bytes);

/// Grey picture of any JPEG, turned upright as its EXIF data says.
/// Errors: unreadable_image when it is damaged, cut short or larger than kMostPixels (checked first). `name` is said.
GrayImage read_jpeg(core::ByteSpan bytes, const std::string& name);

/// `quality` 1..100.
std::string write_jpeg(const ColorImage& image, int quality);

}  // namespace rackside::labels
