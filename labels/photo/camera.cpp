#include "labels/photo/camera.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace rackside::labels {
namespace {

constexpr double kFocalPerWidth = 0.8;  ///< about a phone's main camera

using Vector = std::array<double, 3>;

double dot(const Vector& a, const Vector& b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/// Turns in the plane of two axes.
Vector turned(Vector v, std::size_t from, std::size_t to, double degrees) {
  const double angle = degrees * std::numbers::pi / 180;
  const double a = v[from];
  const double b = v[to];
  v[from] = a * std::cos(angle) - b * std::sin(angle);
  v[to] = a * std::sin(angle) + b * std::cos(angle);
  return v;
}

}  // namespace

Camera::Camera(const View& view)
    : view_(view), focal_(kFocalPerWidth * view.picture_width), distance_(view.scene_width / 4) {
  const Vector unit[3] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
  for (std::size_t i = 0; i < 3; ++i) {
    axes_[i] = turned(turned(turned(unit[i], 0, 2, view.turn), 1, 2, view.tilt), 0, 1, view.roll);
  }
  while (!frame_scene()) distance_ *= 1.01;
  prepare_way_back();
}

bool Camera::frame_scene() {
  middle_ = {0, 0};
  PixelPoint least{1e9, 1e9};
  PixelPoint most{-1e9, -1e9};
  for (const double x : {0.0, view_.scene_width}) {
    for (const double y : {0.0, view_.scene_height}) {
      const double away = axes_[0][2] * (x - view_.scene_width / 2) + axes_[1][2] * (y - view_.scene_height / 2);
      if (distance_ + away < view_.scene_width / 10) return false;
      const PixelPoint p = to_picture(x, y);
      least = {std::min(least.x, p.x), std::min(least.y, p.y)};
      most = {std::max(most.x, p.x), std::max(most.y, p.y)};
    }
  }
  middle_ = {(view_.picture_width - least.x - most.x) / 2, (view_.picture_height - least.y - most.y) / 2};
  return most.x - least.x <= view_.picture_width && most.y - least.y <= view_.picture_height;
}

PixelPoint Camera::to_picture(double scene_x, double scene_y) const {
  const double a = scene_x - view_.scene_width / 2;
  const double b = scene_y - view_.scene_height / 2;
  Vector p{};
  for (std::size_t i = 0; i < 3; ++i) p[i] = a * axes_[0][i] + b * axes_[1][i];
  p[2] += distance_;
  return {middle_.x + focal_ * p[0] / p[2], middle_.y + focal_ * p[1] / p[2]};
}

/// The ray through a picture's point meets the scene where ray · (scene's normal) says; all of that is linear in the
/// point, but for one division, and every pixel asks for it.
void Camera::prepare_way_back() {
  const Vector ray_x{1 / focal_, 0, 0};
  const Vector ray_y{0, 1 / focal_, 0};
  const Vector ray_at_origin{-middle_.x / focal_, -middle_.y / focal_, 1};
  const Vector rays[3] = {ray_x, ray_y, ray_at_origin};
  const double along = distance_ * axes_[2][2];
  const double middles[2] = {view_.scene_width / 2, view_.scene_height / 2};
  for (std::size_t i = 0; i < 3; ++i) {
    back_[2][i] = dot(axes_[2], rays[i]);
    for (std::size_t axis = 0; axis < 2; ++axis) {
      const double beside = middles[axis] - distance_ * axes_[axis][2];
      back_[axis][i] = along * dot(axes_[axis], rays[i]) + beside * back_[2][i];
    }
  }
}

PixelPoint Camera::to_scene(double picture_x, double picture_y) const {
  const auto linear = [&](const Vector& v) { return v[0] * picture_x + v[1] * picture_y + v[2]; };
  const double divisor = 1 / linear(back_[2]);
  return {linear(back_[0]) * divisor, linear(back_[1]) * divisor};
}

}  // namespace rackside::labels
