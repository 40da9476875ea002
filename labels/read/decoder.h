#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "labels/image/image.h"

namespace rackside::labels {

struct PixelPoint {
  double x = 0;
  double y = 0;
};
/// Top left, top right, bottom right, bottom left, as the symbol itself is turned.
using Corners = std::array<PixelPoint, 4>;

struct DecodedSymbol {
  std::string text;
  Corners corners;
};

/// A part of a picture: no copy.
struct GrayView {
  const std::uint8_t* pixels = nullptr;
  int width = 0;
  int height = 0;
  int stride = 0;

  GrayView(const GrayImage& image)
      : pixels(image.pixels.data()), width(image.width), height(image.height), stride(image.width) {}
  GrayView(const GrayImage& image, int x, int y, int w, int h)
      : pixels(image.pixels.data() + image.index(x, y)), width(w), height(h), stride(image.width) {}
};

enum class Effort {
  crisp,     ///< upright, one threshold for the whole view: for a raster just drawn, black on white
  plain,     ///< upright, thresholds of the neighbourhood, as a phone's reader has: for our own rasters, worn ones too
  thorough,  ///< turned and shrunk too
};

/// The QR symbols in a view, in no order. Nothing found is an empty list; no input throws or crashes.
/// Pure; any thread.
std::vector<DecodedSymbol> decode_symbols(const GrayView& view, Effort effort);

/// What a square of modules says (1 is dark, row by row, without the quiet zone), when it is a symbol whose errors can
/// be corrected. Its known patterns need not be right.
std::optional<std::string> decode_modules(const std::vector<std::uint8_t>& modules, int size);

}  // namespace rackside::labels
