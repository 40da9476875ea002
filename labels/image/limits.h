#pragma once

#include <cstdint>
#include <string>

#include "core/base/error.h"

namespace rackside::labels {

/// Throws unreadable_image when a picture is empty or has more than kMostPixels.
void check_dimensions(const std::string& name, std::int64_t width, std::int64_t height);

/// The error for a picture that begins well and then is not what it should be.
core::Error damaged_picture(const std::string& name, const std::string& format, const std::string& why);

}  // namespace rackside::labels
