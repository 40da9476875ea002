#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "labels/design/picture.h"
#include "labels/image/image.h"

namespace rackside::labels {

// One drawing code (canvas.cpp) behind every form of output. Symbols are drawn as filled rectangles, dark runs of a row
// merged, without anti-aliasing.
// Errors: internal when the drawing library fails.

/// Writes a PDF page by page. Deterministic for one version of the libraries: the date inside is fixed. The file asks
/// to be printed at its own size (ISO 32000, viewer preference PrintScaling), which a dialogue may still override.
/// What `sink` throws comes out of the call that wrote.
class PdfWriter {
 public:
  PdfWriter(std::function<void(std::string_view)> sink, const std::string& title);
  ~PdfWriter();
  PdfWriter(const PdfWriter&) = delete;
  PdfWriter& operator=(const PdfWriter&) = delete;
  void add(const Picture& page);
  /// Nothing is a PDF without it.
  void finish();

 private:
  struct Document;
  std::unique_ptr<Document> document_;
};

/// The same in one piece.
std::string draw_pdf(const std::vector<Picture>& pages, const std::string& title);

std::string draw_svg(const Picture& picture);

/// On white; round(width × dpi / 25.4) pixels wide.
GrayImage draw_gray(const Picture& picture, int dpi);

/// A rectangle of a raster's pixels.
struct PixelPart {
  int left = 0;
  int top = 0;
  int width = 0;
  int height = 0;
};
/// Width and height of a picture's raster.
std::pair<int, int> pixels_of(const Picture& picture, int dpi);
/// A part of draw_gray's raster, pixel for pixel; what does not reach into it is not drawn.
GrayImage draw_gray_part(const Picture& picture, int dpi, const PixelPart& part);

/// Likewise in colour, for the made-up photos.
ColorImage draw_color(const Picture& picture, int dpi);

/// What a printer without greys makes of it: every pixel 0 or 255.
GrayImage draw_one_bit(const Picture& picture, int dpi);

}  // namespace rackside::labels
