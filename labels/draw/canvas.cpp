#include "labels/draw/canvas.h"

#include <algorithm>
#include <numbers>

#include "labels/draw/pango.h"

namespace rackside::labels {
namespace {

double points(double mm) {
  return mm * kPointsPerMm;
}

void set_color(cairo_t* cairo, const Color& color) {
  cairo_set_source_rgb(cairo, color.red, color.green, color.blue);
}

void box_path(cairo_t* cairo, const Box& box, double radius) {
  const double x = points(box.x);
  const double y = points(box.y);
  const double right = points(box.right());
  const double bottom = points(box.bottom());
  const double r = std::min({points(radius), (right - x) / 2, (bottom - y) / 2});
  if (r <= 0) {
    cairo_rectangle(cairo, x, y, right - x, bottom - y);
    return;
  }
  constexpr double kQuarter = std::numbers::pi / 2;
  cairo_new_sub_path(cairo);
  cairo_arc(cairo, right - r, y + r, r, -kQuarter, 0);
  cairo_arc(cairo, right - r, bottom - r, r, 0, kQuarter);
  cairo_arc(cairo, x + r, bottom - r, r, kQuarter, 2 * kQuarter);
  cairo_arc(cairo, x + r, y + r, r, 2 * kQuarter, 3 * kQuarter);
  cairo_close_path(cairo);
}

struct Painter {
  cairo_t* cairo;

  void operator()(const FilledBox& shape) const {
    set_color(cairo, shape.color);
    box_path(cairo, shape.box, shape.radius);
    cairo_fill(cairo);
  }

  void operator()(const OutlinedBox& shape) const {
    const double half = shape.stroke / 2;
    const Box middle{shape.box.x + half, shape.box.y + half, shape.box.width - shape.stroke,
                     shape.box.height - shape.stroke};
    set_color(cairo, kBlack);
    cairo_set_line_width(cairo, points(shape.stroke));
    box_path(cairo, middle, shape.radius);
    cairo_stroke(cairo);
  }

  void operator()(const Ring& shape) const {
    set_color(cairo, shape.color);
    cairo_set_line_width(cairo, points(shape.stroke));
    cairo_new_path(cairo);
    cairo_arc(cairo, points(shape.x), points(shape.y), points(shape.radius), 0, 2 * std::numbers::pi);
    cairo_stroke(cairo);
  }

  void operator()(const Stroke& shape) const {
    set_color(cairo, shape.color);
    cairo_set_line_width(cairo, points(shape.width));
    cairo_move_to(cairo, points(shape.x1), points(shape.y1));
    cairo_line_to(cairo, points(shape.x2), points(shape.y2));
    cairo_stroke(cairo);
  }

  void operator()(const TextLine& shape) const {
    const SetLine set = set_line(cairo, shape);
    set_color(cairo, shape.color);
    cairo_save(cairo);
    cairo_translate(cairo, set.x, set.top);
    cairo_scale(cairo, set.scale, set.scale);
    cairo_move_to(cairo, 0, 0);
    pango_cairo_show_layout(cairo, set.layout.get());
    cairo_restore(cairo);
  }

  void operator()(const PlacedSymbol& shape) const {
    set_color(cairo, kBlack);
    cairo_save(cairo);
    cairo_set_antialias(cairo, CAIRO_ANTIALIAS_NONE);
    for (int row = 0; row < shape.symbol.size; ++row) add_runs(shape, row);
    cairo_fill(cairo);
    cairo_restore(cairo);
  }

 private:
  /// Runs are merged, and all rectangles are one path: no renderer then leaves hairlines between modules.
  void add_runs(const PlacedSymbol& shape, int row) const {
    const Symbol& symbol = shape.symbol;
    for (int column = 0; column < symbol.size;) {
      int end = column;
      while (end < symbol.size && symbol.dark(end, row)) ++end;
      if (end > column) {
        cairo_rectangle(cairo, points(shape.x + column * shape.module), points(shape.y + row * shape.module),
                        points((end - column) * shape.module), points(shape.module));
      }
      column = end + 1;
    }
  }
};

}  // namespace

void paint(cairo_t* cairo, const Picture& picture) {
  for (const Shape& shape : picture.shapes) std::visit(Painter{cairo}, shape);
}

}  // namespace rackside::labels
