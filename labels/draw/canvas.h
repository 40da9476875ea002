#pragma once

#include <cairo.h>

#include "labels/design/picture.h"

namespace rackside::labels {

/// Paints every shape on a cairo whose unit is a point. Inside labels/draw only.
void paint(cairo_t* cairo, const Picture& picture);

}  // namespace rackside::labels
