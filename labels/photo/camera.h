#pragma once

#include <array>

#include "labels/read/decoder.h"

namespace rackside::labels {

/// A pinhole camera in front of a flat scene that is turned away from it.
/// Units: the scene in millimetres from its top left; the picture in pixels; angles in degrees.
class Camera {
 public:
  struct View {
    double scene_width;
    double scene_height;
    int picture_width;
    int picture_height;
    double turn;
    double tilt;
    double roll;
  };
  /// Stands as close as shows the whole scene, in the middle of the picture.
  explicit Camera(const View& view);

  PixelPoint to_picture(double scene_x, double scene_y) const;
  PixelPoint to_scene(double picture_x, double picture_y) const;

 private:
  using Vector = std::array<double, 3>;
  /// Centres the scene in the picture; false when it does not fit, or lies behind the camera.
  bool frame_scene();

  void prepare_way_back();

  View view_;
  double focal_;  ///< pixels
  double distance_;
  PixelPoint middle_;             ///< where the optical axis meets the picture
  std::array<Vector, 3> axes_;    ///< the scene's right, down and away, as the camera sees them
  std::array<Vector, 3> back_{};  ///< scene x, scene y and their divisor, linear in (picture x, picture y, 1)
};

}  // namespace rackside::labels
