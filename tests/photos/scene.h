#pragma once

#include <string>
#include <vector>

#include "labels/image/image.h"
#include "labels/read/decoder.h"
#include "tests/photos/chance.h"
#include "tests/photos/print.h"

namespace rackside::tests {

/// How a rack's front is dressed.
struct SceneStyle {
  int columns = 1;
  double askew = 3;          ///< degrees, how crooked labels are stuck on
  double bend = 0;           ///< of curved tubs: the angle from a label's middle to its edge, degrees
  double clutter = 0.4;      ///< chance of writing, stickers, vents on a tub
  double foreign = 0.1;      ///< chance of a symbol or barcode of others on a tub
  double wet = 0;            ///< drops on a label
  bool upside_down = false;  ///< now and then a label hangs so
};

/// A flat front with its labels, and where each symbol lies in it.
struct Scene {
  labels::ColorImage image;
  double pixels_per_mm = 1;
  double width_mm = 0;
  double height_mm = 0;
  double module_mm = 1;  ///< the smallest
  struct Placed {
    std::string payload;
    labels::Corners corners;  ///< millimetres
    labels::PixelPoint middle;
    double half_width = 0;  ///< of the label, millimetres
    double half_height = 0;
  };
  std::vector<Placed> labels;
};

/// How large the front would be, before it is drawn: so that its scale can be chosen.
labels::LabelSize scene_size(std::size_t count, int columns, labels::LabelSize label);

Scene make_scene(Chance& chance, const std::vector<Print>& prints, const SceneStyle& style, double pixels_per_mm);

}  // namespace rackside::tests
