#pragma once

#include <cstddef>
#include <string>

#include "labels/design/picture.h"
#include "labels/image/image.h"

namespace rackside::labels {

/// Reads every symbol of a page back from the page's own raster and compares it with what it should say.
/// Shape:  `raster` is `page` drawn at `dpi`; `where` names the page for messages ("page 2").
/// Errors: nothing_read, naming the first label that does not read, or reads as something else.
void prove(const Picture& page, const GrayImage& raster, int dpi, const std::string& where);

}  // namespace rackside::labels
