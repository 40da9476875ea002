#include "labels/draw/text.h"

#include <algorithm>
#include <map>
#include <memory>
#include <string>
#include <utility>

#include "labels/draw/pango.h"

// Fontconfig keeps what it found about fonts until the process ends, behind encoded pointers that the leak sanitizer
// cannot follow. Its own leaks are not ours; with sanitizers on, every program that draws says so.
#if defined(__SANITIZE_ADDRESS__)
extern "C" const char* __lsan_default_suppressions();
extern "C" const char* __lsan_default_suppressions() {
  return "leak:libfontconfig\n";
}
#endif

namespace rackside::labels {
namespace {

// One family with every script, then what a bare system has. All are free fonts of the distribution.
constexpr const char* kFamilies = "Noto Sans, DejaVu Sans, Droid Sans Fallback, sans-serif";
constexpr std::size_t kMostKept = 3'000;

/// Pictures of many colours, which a label printer cannot print, with what selects and joins them.
bool is_emoji(gunichar c) {
  return (c >= 0x1F000 && c <= 0x1FAFF) || (c >= 0xFE00 && c <= 0xFE0F) || c == 0x20E3 ||
         (c >= 0xE0020 && c <= 0xE007F);
}

/// One line of valid UTF-8: controls become spaces; emoji go, and with them the joiner between two.
std::string one_clean_line(std::string_view text) {
  constexpr gunichar kJoiner = 0x200D;
  char* valid = g_utf8_make_valid(text.data(), static_cast<gssize>(text.size()));
  std::string line;
  bool after_emoji = false;
  for (const char* at = valid; *at != 0; at = g_utf8_next_char(at)) {
    const gunichar c = g_utf8_get_char(at);
    const bool drop = is_emoji(c) || (after_emoji && c == kJoiner);
    after_emoji = drop;
    if (drop) continue;
    if (c < 0x20 || c == 0x7f)
      line += ' ';
    else
      line.append(at, static_cast<std::size_t>(g_utf8_next_char(at) - at));
  }
  g_free(valid);
  return line;
}

std::string emoji_of(std::string_view text) {
  std::string out;
  if (!g_utf8_validate(text.data(), static_cast<gssize>(text.size()), nullptr)) return out;
  for (const char* at = text.data(); at < text.data() + text.size(); at = g_utf8_next_char(at)) {
    if (is_emoji(g_utf8_get_char(at))) out.append(at, static_cast<std::size_t>(g_utf8_next_char(at) - at));
  }
  return out;
}

/// Characters for which no font was found: their glyphs are marked.
std::string unknown_of(PangoLayout* layout) {
  std::string out;
  if (pango_layout_get_unknown_glyphs_count(layout) == 0) return out;
  PangoLayoutIter* iter = pango_layout_get_iter(layout);
  do {
    const PangoLayoutRun* run = pango_layout_iter_get_run_readonly(iter);
    for (int i = 0; run != nullptr && i < run->glyphs->num_glyphs; ++i) {
      const PangoGlyph glyph = run->glyphs->glyphs[i].glyph;
      if ((glyph & PANGO_GLYPH_UNKNOWN_FLAG) == 0 || glyph == PANGO_GLYPH_EMPTY) continue;
      char bytes[6];
      out.append(bytes, static_cast<std::size_t>(g_unichar_to_utf8(glyph & ~PANGO_GLYPH_UNKNOWN_FLAG, bytes)));
    }
  } while (pango_layout_iter_next_run(iter));
  pango_layout_iter_free(iter);
  return out;
}

PangoContext* context_of(PangoLayout* layout) {
  return pango_layout_get_context(layout);
}

struct FreeOptions {
  void operator()(cairo_font_options_t* options) const { cairo_font_options_destroy(options); }
};
struct FreeDescription {
  void operator()(PangoFontDescription* font) const { pango_font_description_free(font); }
};

/// What every layout is set with, made once a thread: parsing the families anew for each line costs as much as setting
/// it.
struct Settings {
  std::unique_ptr<cairo_font_options_t, FreeOptions> unhinted{cairo_font_options_create()};
  std::unique_ptr<PangoFontDescription, FreeDescription> regular = font(PANGO_WEIGHT_NORMAL);
  std::unique_ptr<PangoFontDescription, FreeDescription> bold = font(PANGO_WEIGHT_BOLD);

  Settings() {
    cairo_font_options_set_hint_style(unhinted.get(), CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(unhinted.get(), CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(unhinted.get(), CAIRO_ANTIALIAS_GRAY);
  }

 private:
  static std::unique_ptr<PangoFontDescription, FreeDescription> font(PangoWeight weight) {
    std::unique_ptr<PangoFontDescription, FreeDescription> one(pango_font_description_from_string(kFamilies));
    pango_font_description_set_weight(one.get(), weight);
    pango_font_description_set_absolute_size(one.get(), kLayoutSize * PANGO_SCALE);
    return one;
  }
};

const Settings& settings() {
  static thread_local const Settings mine;
  return mine;
}

void set_unhinted(PangoLayout* layout) {
  pango_cairo_context_set_font_options(context_of(layout), settings().unhinted.get());
  pango_context_set_round_glyph_positions(context_of(layout), FALSE);
  pango_cairo_context_set_resolution(context_of(layout), 72);
}

void set_font(PangoLayout* layout, Weight weight) {
  pango_layout_set_font_description(layout, (weight == Weight::bold ? settings().bold : settings().regular).get());
}

PangoAlignment alignment(Align align) {
  if (align == Align::center) return PANGO_ALIGN_CENTER;
  return align == Align::end ? PANGO_ALIGN_RIGHT : PANGO_ALIGN_LEFT;
}

double units(int pango) {
  return static_cast<double>(pango) / PANGO_SCALE;
}

void set_text(PangoLayout* layout, std::string_view text) {
  const std::string line = one_clean_line(text);
  pango_layout_set_text(layout, line.data(), static_cast<int>(line.size()));
}

/// Of a layout at kLayoutSize, for an em of 1.
TextExtent extent_of(PangoLayout* layout) {
  PangoRectangle ink;
  PangoRectangle logical;
  pango_layout_get_extents(layout, &ink, &logical);
  if (ink.width == 0 || ink.height == 0) return {units(logical.width) / kLayoutSize, 0, 0, 0, 0};
  const double baseline = units(pango_layout_get_baseline(layout));
  const double top = units(ink.y);
  const double left = units(ink.x - logical.x);
  return {units(logical.width) / kLayoutSize, left / kLayoutSize, (left + units(ink.width)) / kLayoutSize,
          (baseline - top) / kLayoutSize, std::max(0.0, top + units(ink.height) - baseline) / kLayoutSize};
}

}  // namespace

LayoutPointer make_layout(cairo_t* cairo, std::string_view text, Weight weight) {
  LayoutPointer layout(pango_cairo_create_layout(cairo));
  set_unhinted(layout.get());
  set_font(layout.get(), weight);
  set_text(layout.get(), text);
  pango_layout_set_single_paragraph_mode(layout.get(), TRUE);
  return layout;
}

SetLine set_line(cairo_t* cairo, const TextLine& line) {
  SetLine set{make_layout(cairo, line.text, line.weight), 0, 0, line.size * kPointsPerMm / kLayoutSize};
  const double width = line.box.width * kPointsPerMm / set.scale;
  pango_layout_set_width(set.layout.get(), static_cast<int>(width * PANGO_SCALE) + 1);
  pango_layout_set_ellipsize(set.layout.get(), line.cut == Cut::end ? PANGO_ELLIPSIZE_END : PANGO_ELLIPSIZE_MIDDLE);
  pango_layout_set_alignment(set.layout.get(), alignment(line.align));
  // A first glyph that hangs out to the left (or a last one to the right) is pulled back into the box.
  PangoRectangle ink;
  pango_layout_get_extents(set.layout.get(), &ink, nullptr);
  double out_left = std::max(0.0, -units(ink.x));
  double out_right = std::max(0.0, units(ink.x + ink.width) - width);
  if (units(ink.width) > width) {
    // Even cut to a letter and the ellipsis it is too wide: smaller, then, and from the box's left on.
    set.scale *= width / units(ink.width);
    out_left = -units(ink.x);
    out_right = 0;
  }
  const double ascent = units(pango_layout_get_baseline(set.layout.get()));
  set.x = line.box.x * kPointsPerMm + (out_left - out_right) * set.scale;
  set.top = line.baseline * kPointsPerMm - ascent * set.scale;
  return set;
}

struct PangoRuler::Measured {
  TextExtent extent;
  std::string missing;
};

struct PangoRuler::Surface {
  SurfacePointer surface{cairo_recording_surface_create(CAIRO_CONTENT_ALPHA, nullptr)};
  CairoPointer cairo{cairo_create(surface.get())};
  LayoutPointer regular = make_layout(cairo.get(), "", Weight::regular);
  LayoutPointer bold = make_layout(cairo.get(), "", Weight::bold);
  // A layout asks for the same texts many times, a sheet for the same words on every label.
  std::map<std::pair<std::string, Weight>, Measured, std::less<>> measured;
};

PangoRuler::PangoRuler() : surface_(new Surface) {}
PangoRuler::~PangoRuler() {
  delete surface_;
}

const PangoRuler::Measured& PangoRuler::measured(std::string_view text, Weight weight) const {
  const std::pair<std::string, Weight> key(text, weight);
  const auto known = surface_->measured.find(key);
  if (known != surface_->measured.end()) return known->second;
  if (surface_->measured.size() > kMostKept) surface_->measured.clear();
  PangoLayout* layout = (weight == Weight::bold ? surface_->bold : surface_->regular).get();
  set_text(layout, text);
  const Measured one{extent_of(layout), emoji_of(text) + unknown_of(layout)};
  return surface_->measured.emplace(key, one).first->second;
}

TextExtent PangoRuler::measure(std::string_view text, Weight weight) const {
  return measured(text, weight).extent;
}

std::string PangoRuler::missing(std::string_view text, Weight weight) const {
  return measured(text, weight).missing;
}

Box PangoRuler::ink_box(const TextLine& line) const {
  const SetLine set = set_line(surface_->cairo.get(), line);
  PangoRectangle ink;
  pango_layout_get_extents(set.layout.get(), &ink, nullptr);
  const double mm = set.scale / kPointsPerMm;
  return {set.x / kPointsPerMm + units(ink.x) * mm, set.top / kPointsPerMm + units(ink.y) * mm, units(ink.width) * mm,
          units(ink.height) * mm};
}

}  // namespace rackside::labels
