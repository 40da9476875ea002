#include "labels/draw/canvas.h"

#include <algorithm>
#include <cmath>
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
    for (int line = 0; line < shape.symbol.size; ++line) {
      add_runs(shape, line, Along::row);
      add_runs(shape, line, Along::column);
    }
    cairo_fill(cairo);
    cairo_restore(cairo);
  }

 private:
  enum class Along { row, column };

  /// Dark runs are merged, along rows and along columns, and all rectangles are one path: no renderer then leaves
  /// hairlines between modules. A run of one module is left out where the run across it covers it, which halves a file
  /// and the time to write it; a module alone is drawn with its row.
  void add_runs(const PlacedSymbol& shape, int line, Along along) const {
    const int size = shape.symbol.size;
    const auto dark = [&](int at, int on) {
      if (at < 0 || on < 0 || at >= size || on >= size) return false;
      return along == Along::row ? shape.symbol.dark(at, on) : shape.symbol.dark(on, at);
    };
    const auto covered_across = [&](int at) {
      return along == Along::column || dark(at, line - 1) || dark(at, line + 1);
    };
    for (int first = 0; first < size;) {
      int end = first;
      while (dark(end, line)) ++end;
      if (end - first > 1 || (end > first && !covered_across(first))) add_run(shape, line, along, first, end);
      first = end + 1;
    }
  }

  void add_run(const PlacedSymbol& shape, int line, Along along, int first, int end) const {
    const double from = first * shape.module;
    const double across = line * shape.module;
    const double length = (end - first) * shape.module;
    if (along == Along::row)
      add_inside({shape.x + from, shape.y + across, length, shape.module});
    else
      add_inside({shape.x + across, shape.y + from, shape.module, length});
  }

  /// Cairo keeps coordinates to 1/256 point. Rounded inwards and one such unit more, an edge that lies on a dot's edge
  /// never greys the next dot, in any renderer; what rows so lose between them the columns cover, and the other way
  /// round. A hundredth of a millimetre in all.
  void add_inside(const Box& box) const {
    if (box.width <= 0 || box.height <= 0) return;
    constexpr double kUnits = 256;
    constexpr double kSlack = 1e-4;
    constexpr double kMargin = 1;
    const auto up = [](double mm) { return (std::ceil(points(mm) * kUnits - kSlack) + kMargin) / kUnits; };
    const auto down = [](double mm) { return (std::floor(points(mm) * kUnits + kSlack) - kMargin) / kUnits; };
    const double x = up(box.x);
    const double y = up(box.y);
    cairo_rectangle(cairo, x, y, down(box.right()) - x, down(box.bottom()) - y);
  }
};

}  // namespace

void paint(cairo_t* cairo, const Picture& picture) {
  for (const Shape& shape : picture.shapes) std::visit(Painter{cairo}, shape);
}

}  // namespace rackside::labels
