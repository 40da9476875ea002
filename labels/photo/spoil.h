#pragma once

#include <random>

#include "labels/image/image.h"

namespace rackside::labels {

/// A lamp at a random place over the picture: bright there, darker by `unevenness` at the far end.
void light_unevenly(ColorImage& image, double unevenness, double exposure, std::mt19937& random);

/// Gaussian blur of that standard deviation in pixels.
void blur(ColorImage& image, double deviation);

/// Noise of that standard deviation on every value, nearly Gaussian.
void add_noise(ColorImage& image, double deviation, std::mt19937& random);

}  // namespace rackside::labels
