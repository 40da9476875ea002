#pragma once

#include <string>
#include <vector>

#include "labels/design/label.h"
#include "labels/image/image.h"

namespace rackside::labels {

/// A label as it is shown to people who choose one.
struct GalleryPiece {
  Label label;
  LabelSize size;
  std::string caption;
};

/// The pieces beside and under each other at true size, each with a hairline around it and its caption, on a picture
/// `width_mm` wide.
/// Errors: as lay_out.
GrayImage draw_gallery(const std::vector<GalleryPiece>& pieces, double width_mm, int dpi);

/// One of each design, of an invented collection.
std::vector<GalleryPiece> example_pieces();

}  // namespace rackside::labels
