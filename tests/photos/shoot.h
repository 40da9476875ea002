#pragma once

#include <string>
#include <vector>

#include "tests/photos/scene.h"

namespace rackside::tests {

/// A camera, the light and what the phone does to the picture.
/// Units: lengths of blur in modules of the label, all else as said.
struct ShotStyle {
  double turn = 0;        ///< degrees from straight on, from the side
  double tilt = 0;        ///< from above
  double roll = 0;        ///< of the camera
  double soft = 0.5;      ///< every lens: standard deviation, pixels
  double motion = 0;      ///< length of the smear
  double defocus = 0;     ///< diameter of the disk a point becomes
  double exposure = 0.9;  ///< 1: paper nearly white
  double noise = 3;       ///< standard deviation at mid grey, of 255
  double gain = 1;        ///< after the noise: what brightens a dark photo
  double denoise = 0;     ///< standard deviation of what smooths the noise, pixels
  double sharpen = 0;     ///< strength of the phone's sharpening
  double glare = 0;       ///< brightness of reflections on labels, of 255
  int shadows = 1;
  double cast = 0.08;  ///< how far the white balance is off
  int quality = 85;
};

struct Shot {
  std::string jpeg;
  int width = 0;
  int height = 0;
  struct Truth {
    std::string payload;
    labels::Corners corners;  ///< pixels
  };
  std::vector<Truth> labels;
};

/// Photographs a scene so that a straight view would show `pixels_per_mm`.
Shot shoot(Chance& chance, const Scene& scene, const ShotStyle& style, double pixels_per_mm);

}  // namespace rackside::tests
