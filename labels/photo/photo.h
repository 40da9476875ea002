#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "labels/design/label.h"
#include "labels/read/decoder.h"

namespace rackside::labels {

// Made-up photos of labelled racks, for demonstrations and tests. Nothing here is used for printing.

struct PhotoOptions {
  std::uint32_t seed = 1;  ///< of everything that varies; equal options give equal bytes
  int width = 2000;        ///< pixels
  int height = 1500;
  int columns = 3;           ///< tubs side by side
  double turn_degrees = 18;  ///< the rack seen from the side
  double tilt_degrees = 6;   ///< and from above
  double roll_degrees = 2;   ///< camera held askew
  double blur_pixels = 0.9;  ///< standard deviation
  double noise = 5;          ///< standard deviation, of 255
  double unevenness = 0.45;  ///< 0: even light; 1: the far corner is dark
  double exposure = 0.95;    ///< 1: paper is nearly white
  int jpeg_quality = 85;
};

/// Where a label's symbol lies in the photo.
struct TrueSymbol {
  std::string payload;
  Corners corners;
};

struct RackPhoto {
  std::string jpeg;
  std::vector<TrueSymbol> symbols;
};

/// A photo of a rack whose tubs carry these labels, row by row.
/// Errors: bad_input without labels, or for sizes outside 64..8000 pixels; as lay_out.
RackPhoto render_rack_photo(const std::vector<Label>& labels, LabelSize size, const PhotoOptions& options);

}  // namespace rackside::labels
