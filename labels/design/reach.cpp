#include "labels/design/reach.h"

#include <cmath>
#include <cstdio>

namespace rackside::labels {

std::string reach_text(double module_mm) {
  const auto in_cm = [&](const CameraKind& camera) { return std::floor(reach_mm(camera, module_mm) / 10); };
  char text[160];
  std::snprintf(
      text, sizeof text,
      "modules of %.2f mm: a phone reads them up to about %.0f cm away, a handheld reader up to about %.0f cm",
      module_mm, in_cm(kPhone), in_cm(kHandheld));
  return text;
}

}  // namespace rackside::labels
