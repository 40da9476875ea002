#pragma once

#include <cstddef>
#include <string>

#include "labels/design/picture.h"
#include "labels/image/image.h"

namespace rackside::labels {

/// Reads every symbol of a page back from the page's own raster and compares it with what it should say; then a second
/// time as it may look on the tub: with the spread of print and a smear (wear.h).
/// Shape:  `raster` is `page` drawn at `dpi`; `where` names the page for messages ("page 2").
/// Errors: nothing_read, naming the first label that does not read, or reads as something else.
/// Pure; any thread.
void prove(const Picture& page, const GrayImage& raster, int dpi, const std::string& where);

/// The same, where nobody needs the whole raster: only the parts around the symbols are drawn, with all that reaches
/// into them. Equal, pixel for pixel, to cutting them out of the page's raster.
struct ProofCost {
  double draw_seconds = 0;  ///< of this thread's processor time
  double read_seconds = 0;
};
ProofCost prove_drawn(const Picture& page, int dpi, const std::string& where);

}  // namespace rackside::labels
