#pragma once

#include "core/base/bytes.h"
#include "labels/image/image.h"

namespace rackside::labels {

/// The orientation 1..8 that an APP1 segment's content (from "Exif\0\0" on) states; 1 when it states none or is
/// damaged. Source: EXIF 2.32 (CIPA DC-008), tag 0x0112; TIFF 6.0, section 2.
int exif_orientation(core::ByteSpan segment);

/// The picture as it was seen, for a stored one of that orientation.
GrayImage upright(GrayImage stored, int orientation);

}  // namespace rackside::labels
