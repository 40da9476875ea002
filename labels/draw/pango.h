#pragma once

#include <pango/pangocairo.h>

#include <memory>

#include "labels/design/picture.h"

namespace rackside::labels {

// Shared by the two files that draw and measure text. Inside labels/draw only.

inline constexpr double kPointsPerMm = 72.0 / 25.4;

struct FreeObject {
  void operator()(void* object) const { g_object_unref(object); }
};
struct FreeSurface {
  void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
};
struct FreeCairo {
  void operator()(cairo_t* cairo) const { cairo_destroy(cairo); }
};
using LayoutPointer = std::unique_ptr<PangoLayout, FreeObject>;
using SurfacePointer = std::unique_ptr<cairo_surface_t, FreeSurface>;
using CairoPointer = std::unique_ptr<cairo_t, FreeCairo>;

/// Points of the em at which all text is laid out, then scaled: a font of another size costs a search among all fonts.
inline constexpr double kLayoutSize = 100;

/// A layout of one line. Text that is not UTF-8 is mended, line breaks and controls become spaces.
LayoutPointer make_layout(cairo_t* cairo, std::string_view text, Weight weight);

/// The layout of a line, with its width, alignment and ellipsis; where its top left goes, in points; and its scale.
struct SetLine {
  LayoutPointer layout;
  double x;
  double top;
  double scale;
};
SetLine set_line(cairo_t* cairo, const TextLine& line);

}  // namespace rackside::labels
