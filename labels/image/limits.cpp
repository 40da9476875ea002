#include "labels/image/limits.h"

#include "labels/image/image.h"

namespace rackside::labels {

void check_dimensions(const std::string& name, std::int64_t width, std::int64_t height) {
  if (width > 0 && height > 0 && width <= kMostPixels && height <= kMostPixels / width) return;
  throw core::Error(core::Fault::unreadable_image,
                    name + " says it is " + std::to_string(width) + " x " + std::to_string(height) +
                        " pixels; pictures of 1 to 100 million pixels are read. Take the photo at a lower resolution.");
}

core::Error damaged_picture(const std::string& name, const std::string& format, const std::string& why) {
  return {core::Fault::unreadable_image, name + " is a damaged " + format + " picture (" + why +
                                             "). Copy it again from the phone or camera, or take it anew."};
}

}  // namespace rackside::labels
