#pragma once

#include <string>

namespace rackside::labels {

// How far a label reads. A camera of focal length f, in its own pixels, sees a module of m millimetres at a distance of
// d millimetres f * m / d pixels wide: the pinhole camera, as in every textbook of photogrammetry. With p pixels that
// a reader needs for a module, the distance is
//     d = f * m / p
// What stands for f and p is common practice, no source: cameras differ, and so do blur and light.

struct CameraKind {
  double focal_pixels;
  double pixels_a_module;
};

/// A phone's live picture, 1920 pixels wide through a lens of 26 mm (of a frame of 36 mm): 1920 * 26 / 36.
inline constexpr CameraKind kPhone{1386.7, 3.0};
/// A handheld reader: 1280 pixels over 42 degrees, 1280 / 2 / tan(21°); steadier light of its own, so fewer pixels do.
inline constexpr CameraKind kHandheld{1667.3, 2.5};

constexpr double reach_mm(const CameraKind& camera, double module_mm) {
  return camera.focal_pixels * module_mm / camera.pixels_a_module;
}

/// "modules of 0.51 mm: a phone reads them up to about 23 cm away, a handheld reader up to about 33 cm"
std::string reach_text(double module_mm);

}  // namespace rackside::labels
