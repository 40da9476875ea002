#include "labels/draw/text.h"

#include <algorithm>
#include <string>

#include "labels/draw/pango.h"

namespace rackside::labels {
namespace {

// One family with every script, then what a bare system has. All are free fonts of the distribution.
constexpr const char* kFamilies = "Noto Sans, DejaVu Sans, Droid Sans Fallback, sans-serif";
constexpr double kMeasuredAt = 100;  ///< points; large, so that rounding does not matter

std::string one_clean_line(std::string_view text) {
  char* valid = g_utf8_make_valid(text.data(), static_cast<gssize>(text.size()));
  std::string line(valid);
  g_free(valid);
  for (char& c : line) {
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) c = ' ';
  }
  return line;
}

PangoContext* context_of(PangoLayout* layout) {
  return pango_layout_get_context(layout);
}

void set_unhinted(PangoLayout* layout) {
  cairo_font_options_t* options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  pango_cairo_context_set_font_options(context_of(layout), options);
  cairo_font_options_destroy(options);
  pango_context_set_round_glyph_positions(context_of(layout), FALSE);
  pango_cairo_context_set_resolution(context_of(layout), 72);
}

void set_font(PangoLayout* layout, Weight weight, double size_points) {
  PangoFontDescription* font = pango_font_description_from_string(kFamilies);
  pango_font_description_set_weight(font, weight == Weight::bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_absolute_size(font, size_points * PANGO_SCALE);
  pango_layout_set_font_description(layout, font);
  pango_font_description_free(font);
}

PangoAlignment alignment(Align align) {
  if (align == Align::center) return PANGO_ALIGN_CENTER;
  return align == Align::end ? PANGO_ALIGN_RIGHT : PANGO_ALIGN_LEFT;
}

double units(int pango) {
  return static_cast<double>(pango) / PANGO_SCALE;
}

}  // namespace

LayoutPointer make_layout(cairo_t* cairo, std::string_view text, Weight weight, double size_points) {
  LayoutPointer layout(pango_cairo_create_layout(cairo));
  set_unhinted(layout.get());
  set_font(layout.get(), weight, size_points);
  const std::string line = one_clean_line(text);
  pango_layout_set_text(layout.get(), line.data(), static_cast<int>(line.size()));
  pango_layout_set_single_paragraph_mode(layout.get(), TRUE);
  return layout;
}

SetLine set_line(cairo_t* cairo, const TextLine& line) {
  SetLine set{make_layout(cairo, line.text, line.weight, line.size * kPointsPerMm), 0, 0};
  pango_layout_set_width(set.layout.get(), static_cast<int>(line.box.width * kPointsPerMm * PANGO_SCALE) + 1);
  pango_layout_set_ellipsize(set.layout.get(), PANGO_ELLIPSIZE_END);
  pango_layout_set_alignment(set.layout.get(), alignment(line.align));
  // A first glyph that hangs out to the left (or a last one to the right) is pulled back into the box.
  PangoRectangle ink;
  pango_layout_get_extents(set.layout.get(), &ink, nullptr);
  const double width = line.box.width * kPointsPerMm;
  const double out_left = std::max(0.0, -units(ink.x));
  const double out_right = std::max(0.0, units(ink.x + ink.width) - width);
  set.x = line.box.x * kPointsPerMm + out_left - out_right;
  set.baseline = line.baseline * kPointsPerMm;
  return set;
}

struct PangoRuler::Surface {
  SurfacePointer surface{cairo_recording_surface_create(CAIRO_CONTENT_ALPHA, nullptr)};
  CairoPointer cairo{cairo_create(surface.get())};
};

PangoRuler::PangoRuler() : surface_(new Surface) {}
PangoRuler::~PangoRuler() {
  delete surface_;
}

TextExtent PangoRuler::measure(std::string_view text, Weight weight) const {
  const LayoutPointer layout = make_layout(surface_->cairo.get(), text, weight, kMeasuredAt);
  PangoRectangle ink;
  PangoRectangle logical;
  pango_layout_get_extents(layout.get(), &ink, &logical);
  if (ink.width == 0 || ink.height == 0) return {units(logical.width) / kMeasuredAt, 0, 0, 0, 0};
  const double baseline = units(pango_layout_get_baseline(layout.get()));
  const double top = units(ink.y);
  const double left = units(ink.x - logical.x);
  return {units(logical.width) / kMeasuredAt, left / kMeasuredAt, (left + units(ink.width)) / kMeasuredAt,
          (baseline - top) / kMeasuredAt, std::max(0.0, top + units(ink.height) - baseline) / kMeasuredAt};
}

Box PangoRuler::ink_box(const TextLine& line) const {
  const SetLine set = set_line(surface_->cairo.get(), line);
  PangoRectangle ink;
  pango_layout_get_extents(set.layout.get(), &ink, nullptr);
  const double top = set.baseline - units(pango_layout_get_baseline(set.layout.get()));
  return {(set.x + units(ink.x)) / kPointsPerMm, (top + units(ink.y)) / kPointsPerMm, units(ink.width) / kPointsPerMm,
          units(ink.height) / kPointsPerMm};
}

}  // namespace rackside::labels
