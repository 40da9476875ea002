#include "labels/photo/photo.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "labels/draw/draw.h"
#include "labels/draw/text.h"
#include "labels/image/jpeg.h"
#include "labels/photo/camera.h"
#include "labels/photo/scene.h"
#include "labels/photo/spoil.h"

namespace rackside::labels {
namespace {

constexpr double kMmPerInch = 25.4;
constexpr std::uint8_t kWall[3] = {58, 57, 55};

/// Samples the flat scene for one point of the picture, linearly between its pixels; the wall beyond its edges.
void sample(const ColorImage& scene, float x, float y, float out[3]) {
  // Written so that NaN is the wall too. Truncation is the floor here: both are positive.
  const bool inside =
      x >= 0 && y >= 0 && x < static_cast<float>(scene.width - 1) && y < static_cast<float>(scene.height - 1);
  if (!inside) {
    for (int c = 0; c < 3; ++c) out[c] += kWall[c];
    return;
  }
  const int left = static_cast<int>(x);
  const int top = static_cast<int>(y);
  const float fx = x - static_cast<float>(left);
  const float fy = y - static_cast<float>(top);
  const std::uint8_t* upper = scene.pixels.data() + scene.index(left, top);
  const std::uint8_t* lower = upper + 3 * static_cast<std::size_t>(scene.width);
  for (int c = 0; c < 3; ++c) {
    const float above = upper[c] + (upper[c + 3] - upper[c]) * fx;
    const float below = lower[c] + (lower[c + 3] - lower[c]) * fx;
    out[c] += above + (below - above) * fy;
  }
}

/// Two samples a pixel, on its diagonal: what is finer than a pixel blurs, as it does in a camera.
ColorImage photograph(const ColorImage& scene, const Camera& camera, double pixels_per_mm, int width, int height) {
  ColorImage photo(width, height);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      float sum[3] = {0, 0, 0};
      for (const double within : {0.25, 0.75}) {
        const PixelPoint at = camera.to_scene(x + within, y + within);
        sample(scene, static_cast<float>(at.x * pixels_per_mm - 0.5), static_cast<float>(at.y * pixels_per_mm - 0.5),
               sum);
      }
      std::uint8_t* pixel = photo.pixels.data() + photo.index(x, y);
      for (int c = 0; c < 3; ++c) pixel[c] = static_cast<std::uint8_t>(sum[c] / 2 + 0.5F);
    }
  }
  return photo;
}

Corners corners_in_photo(const Camera& camera, const PlacedSymbol& symbol) {
  const Box box = symbol.box();
  return {camera.to_picture(box.x, box.y), camera.to_picture(box.right(), box.y),
          camera.to_picture(box.right(), box.bottom()), camera.to_picture(box.x, box.bottom())};
}

void check(const std::vector<Label>& labels, const PhotoOptions& options) {
  using core::Error;
  using core::Fault;
  if (labels.empty() || options.columns < 1) throw Error(Fault::bad_input, "A rack photo needs labels and columns.");
  const auto sane = [](int side) { return side >= 64 && side <= 8000; };
  if (sane(options.width) && sane(options.height)) return;
  throw Error(Fault::bad_input, "A made-up photo measures 64 to 8000 pixels each way.");
}

}  // namespace

RackPhoto render_rack_photo(const std::vector<Label>& labels, LabelSize size, const PhotoOptions& options) {
  check(labels, options);
  std::mt19937 random(options.seed);
  const Picture front = rack_front(labels, size, options.columns, random, PangoRuler());
  const Camera camera({front.width, front.height, options.width, options.height, options.turn_degrees,
                       options.tilt_degrees, options.roll_degrees});
  // A little finer than the photo where the rack is nearest, so that the photo's own pixels limit what is seen.
  const double wanted = 1.6 * options.width / front.width * kMmPerInch;
  const int dpi = static_cast<int>(std::clamp(wanted, 40.0, 400.0));
  ColorImage image = photograph(draw_color(front, dpi), camera, dpi / kMmPerInch, options.width, options.height);
  light_unevenly(image, options.unevenness, options.exposure, random);
  blur(image, options.blur_pixels);
  add_noise(image, options.noise, random);
  RackPhoto photo{write_jpeg(image, options.jpeg_quality), {}};
  for (const PlacedSymbol* symbol : front.symbols()) {
    photo.symbols.push_back({symbol->payload, corners_in_photo(camera, *symbol)});
  }
  return photo;
}

}  // namespace rackside::labels
