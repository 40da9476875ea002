#include "tests/photos/shoot.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "labels/image/jpeg.h"
#include "labels/photo/camera.h"
#include "labels/photo/spoil.h"

namespace rackside::tests {
namespace {

using labels::ColorImage;
using labels::PixelPoint;

std::uint8_t to_byte(double value) {
  return static_cast<std::uint8_t>(std::clamp(value + 0.5, 0.0, 255.0));
}

/// Four samples a pixel; dark grey beyond the scene.
ColorImage photograph(const Scene& scene, const labels::Camera& camera, int width, int height) {
  ColorImage photo(width, height);
  const double scale = scene.pixels_per_mm;
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      int sum[3] = {0, 0, 0};
      for (const double dy : {0.25, 0.75}) {
        for (const double dx : {0.25, 0.75}) {
          const PixelPoint at = camera.to_scene(x + dx, y + dy);
          const int column = static_cast<int>(at.x * scale);
          const int row = static_cast<int>(at.y * scale);
          const bool inside = at.x >= 0 && at.y >= 0 && column < scene.image.width && row < scene.image.height;
          const std::uint8_t* pixel = inside ? scene.image.pixels.data() + scene.image.index(column, row) : nullptr;
          for (int c = 0; c < 3; ++c) sum[c] += inside ? pixel[c] : 60;
        }
      }
      std::uint8_t* out = photo.pixels.data() + photo.index(x, y);
      for (int c = 0; c < 3; ++c) out[c] = static_cast<std::uint8_t>(sum[c] / 4);
    }
  }
  return photo;
}

/// Light that falls off from a lamp, edges of shadow, and a wrong white balance.
void light(ColorImage& image, Chance& chance, const ShotStyle& style) {
  labels::light_unevenly(image, chance.between(0.1, 0.5), style.exposure, chance.source());
  double balance[3];
  for (double& gain : balance) gain = 1 + chance.between(-style.cast, style.cast);
  struct Shadow {
    double x, y, edge, depth;
  };
  std::vector<Shadow> shadows;
  for (int i = 0; i < style.shadows; ++i) {
    const double angle = chance.between(0, 2 * std::numbers::pi);
    shadows.push_back({std::cos(angle), std::sin(angle), chance.between(4, 60), chance.between(0.35, 0.85)});
  }
  const double x0 = image.width * chance.between(0.2, 0.8);
  const double y0 = image.height * chance.between(0.2, 0.8);
  for (int y = 0; y < image.height; ++y) {
    for (int x = 0; x < image.width; ++x) {
      double factor = 1;
      for (const Shadow& shadow : shadows) {
        const double behind = ((x - x0) * shadow.x + (y - y0) * shadow.y) / shadow.edge;
        factor *= 1 - (1 - shadow.depth) / (1 + std::exp(std::clamp(-behind, -30.0, 30.0)));
      }
      std::uint8_t* pixel = image.pixels.data() + image.index(x, y);
      for (int c = 0; c < 3; ++c) pixel[c] = to_byte(pixel[c] * factor * balance[c]);
    }
  }
}

/// A lamp's or a tube's reflection on each label: added light, which bleaches where it is strong.
void reflect(ColorImage& image, Chance& chance, const Shot& shot, double strength) {
  for (const Shot::Truth& label : shot.labels) {
    const double side = std::hypot(label.corners[1].x - label.corners[0].x, label.corners[1].y - label.corners[0].y);
    const double x0 = label.corners[0].x + (label.corners[2].x - label.corners[0].x) * chance.between(0, 1);
    const double y0 = label.corners[0].y + (label.corners[2].y - label.corners[0].y) * chance.between(0, 1);
    const double angle = chance.between(0, std::numbers::pi);
    const double across = side * chance.between(0.1, 0.35);
    const double along = across * (chance.one_in(0.5) ? chance.between(3, 8) : 1);
    const double peak = strength * chance.between(0.6, 1);
    const int reach = static_cast<int>(2.5 * along) + 1;
    for (int y = std::max(0, static_cast<int>(y0) - reach);
         y < std::min<int>(image.height, static_cast<int>(y0) + reach); ++y) {
      for (int x = std::max(0, static_cast<int>(x0) - reach);
           x < std::min<int>(image.width, static_cast<int>(x0) + reach); ++x) {
        const double u = ((x - x0) * std::cos(angle) + (y - y0) * std::sin(angle)) / along;
        const double v = ((y - y0) * std::cos(angle) - (x - x0) * std::sin(angle)) / across;
        const double added = peak * std::exp(-(u * u + v * v) / 2);
        if (added < 1) continue;
        std::uint8_t* pixel = image.pixels.data() + image.index(x, y);
        for (int c = 0; c < 3; ++c) pixel[c] = to_byte(pixel[c] + added);
      }
    }
  }
}

struct Tap {
  int x, y;
  float weight;
};

void convolve(ColorImage& image, const std::vector<Tap>& taps) {
  ColorImage out(image.width, image.height);
  std::vector<float> sums(3 * static_cast<std::size_t>(image.width));
  for (int y = 0; y < image.height; ++y) {
    std::fill(sums.begin(), sums.end(), 0.5F);
    for (const Tap& tap : taps) {
      const std::uint8_t* row = image.pixels.data() + image.index(0, std::clamp(y + tap.y, 0, image.height - 1));
      const int first = std::clamp(-tap.x, 0, image.width);
      const int last = std::clamp(image.width - tap.x, 0, image.width);
      for (int i = 3 * first; i < 3 * last; ++i) sums[static_cast<std::size_t>(i)] += tap.weight * row[i + 3 * tap.x];
      for (int x = 0; x < image.width; ++x) {
        if (x >= first && x < last) continue;
        const int from = x < first ? 0 : image.width - 1;
        for (int c = 0; c < 3; ++c) sums[static_cast<std::size_t>(3 * x + c)] += tap.weight * row[3 * from + c];
      }
    }
    std::uint8_t* target = out.pixels.data() + out.index(0, y);
    for (std::size_t i = 0; i < sums.size(); ++i) target[i] = static_cast<std::uint8_t>(std::min(sums[i], 255.0F));
  }
  image = std::move(out);
}

/// The share of each pixel that a shape covers, by many samples.
template <class Sample>
std::vector<Tap> taps_of(int reach, int samples, Sample sample) {
  const int side = 2 * reach + 1;
  std::vector<float> weights(static_cast<std::size_t>(side * side), 0);
  for (int i = 0; i < samples; ++i) {
    const PixelPoint at = sample(i);
    const int x = static_cast<int>(std::floor(at.x + 0.5)) + reach;
    const int y = static_cast<int>(std::floor(at.y + 0.5)) + reach;
    weights[static_cast<std::size_t>(y * side + x)] += 1.0F / static_cast<float>(samples);
  }
  std::vector<Tap> taps;
  for (int i = 0; i < side * side; ++i) {
    if (weights[static_cast<std::size_t>(i)] > 0)
      taps.push_back({i % side - reach, i / side - reach, weights[static_cast<std::size_t>(i)]});
  }
  return taps;
}

void smear(ColorImage& image, Chance& chance, double length) {
  const double angle = chance.between(0, std::numbers::pi);
  constexpr int kSamples = 400;
  convolve(image, taps_of(static_cast<int>(length / 2) + 1, kSamples, [&](int i) {
             const double at = length * ((i + 0.5) / kSamples - 0.5);
             return PixelPoint{at * std::cos(angle), at * std::sin(angle)};
           }));
}

void defocus(ColorImage& image, double diameter) {
  constexpr int kSamples = 4000;
  convolve(image, taps_of(static_cast<int>(diameter / 2) + 1, kSamples, [&](int i) {
             // A sunflower's seeds cover a disk evenly.
             const double radius = diameter / 2 * std::sqrt((i + 0.5) / kSamples);
             const double angle = i * std::numbers::pi * (3 - std::sqrt(5.0));
             return PixelPoint{radius * std::cos(angle), radius * std::sin(angle)};
           }));
}

void sharpen(ColorImage& image, double strength) {
  ColorImage soft = image;
  labels::blur(soft, 1.2);
  for (std::size_t i = 0; i < image.pixels.size(); ++i)
    image.pixels[i] = to_byte(image.pixels[i] + strength * (image.pixels[i] - soft.pixels[i]));
}

void brighten(ColorImage& image, double gain) {
  for (std::uint8_t& value : image.pixels) value = to_byte(value * gain);
}

double module_pixels(const Shot& shot, const Scene& scene, double pixels_per_mm) {
  (void)shot;
  return scene.module_mm * pixels_per_mm;
}

}  // namespace

Shot shoot(Chance& chance, const Scene& scene, const ShotStyle& style, double pixels_per_mm) {
  Shot shot;
  // A frame turned with the camera, so that a label held upright or on its head fills the picture alike.
  const double roll = style.roll * std::numbers::pi / 180;
  const double across = std::abs(std::cos(roll)) * scene.width_mm + std::abs(std::sin(roll)) * scene.height_mm;
  const double down = std::abs(std::sin(roll)) * scene.width_mm + std::abs(std::cos(roll)) * scene.height_mm;
  shot.width = std::clamp(static_cast<int>(across * pixels_per_mm), 320, 8000);
  shot.height = std::clamp(static_cast<int>(down * pixels_per_mm), 240, 8000);
  const labels::Camera camera(
      {scene.width_mm, scene.height_mm, shot.width, shot.height, style.turn, style.tilt, style.roll});
  for (const Scene::Placed& placed : scene.labels) {
    Shot::Truth truth{placed.payload, {}};
    for (std::size_t i = 0; i < 4; ++i) truth.corners[i] = camera.to_picture(placed.corners[i].x, placed.corners[i].y);
    shot.labels.push_back(std::move(truth));
  }
  ColorImage image = photograph(scene, camera, shot.width, shot.height);
  light(image, chance, style);
  if (style.glare > 0) reflect(image, chance, shot, style.glare);
  const double module = module_pixels(shot, scene, pixels_per_mm);
  if (style.motion > 0) smear(image, chance, style.motion * module);
  if (style.defocus > 0) defocus(image, style.defocus * module);
  labels::blur(image, style.soft);
  labels::add_noise(image, style.noise, chance.source());
  if (style.denoise > 0) labels::blur(image, style.denoise);
  if (style.gain != 1) brighten(image, style.gain);
  if (style.sharpen > 0) sharpen(image, style.sharpen);
  shot.jpeg = labels::write_jpeg(image, style.quality);
  return shot;
}

}  // namespace rackside::tests
