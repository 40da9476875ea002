#pragma once

#include <string>

#include "core/base/bytes.h"
#include "labels/image/image.h"

namespace rackside::labels {

/// Grey picture of a JPEG or PNG, told by its first bytes. `name` is what messages call it.
/// Errors: unreadable_image: no picture of these kinds, damaged, cut short, or too large.
GrayImage read_picture(core::ByteSpan bytes, const std::string& name);

/// The bytes of a picture's file.
/// Errors: bad_input when there is no such file; unreadable_image over 200 MB; disk_fault when reading fails.
std::string load_picture_file(const std::string& path);

}  // namespace rackside::labels
