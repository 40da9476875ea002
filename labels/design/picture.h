#pragma once

#include <string>
#include <variant>
#include <vector>

#include "labels/symbol/symbol.h"

namespace rackside::labels {

// What is to be drawn, as a list of shapes: the one language between the designs and the drawing code.
// Units: millimetres, from the top left, y downwards.

struct Box {
  double x = 0;
  double y = 0;
  double width = 0;
  double height = 0;
  double right() const { return x + width; }
  double bottom() const { return y + height; }
};

/// True when the two share more than `slack_mm` in both directions.
inline bool overlap(const Box& a, const Box& b, double slack_mm = 0.01) {
  return a.x + slack_mm < b.right() && b.x + slack_mm < a.right() && a.y + slack_mm < b.bottom() &&
         b.y + slack_mm < a.bottom();
}

/// Each part 0..1. Labels use black and white only; colours are for the made-up photos.
struct Color {
  double red = 0;
  double green = 0;
  double blue = 0;
};
inline constexpr Color kBlack{0, 0, 0};
inline constexpr Color kWhite{1, 1, 1};

enum class Weight { regular, bold };
enum class Align { start, center, end };
/// Where a text that is too wide is cut: short IDs in the middle, because their end tells them apart.
enum class Cut { end, middle };

struct FilledBox {
  Box box;
  Color color = kBlack;
  double radius = 0;
};

struct OutlinedBox {
  Box box;  ///< the outer edge
  double stroke = 0;
  double radius = 0;
};

struct Ring {
  double x = 0;
  double y = 0;
  double radius = 0;  ///< to the middle of the stroke
  double stroke = 0;
  Color color = kBlack;
};

struct Stroke {
  double x1 = 0;
  double y1 = 0;
  double x2 = 0;
  double y2 = 0;
  double width = 0;
  Color color = kBlack;
};

/// One line of text on a baseline, cut with an ellipsis where it is wider than its box. `start` is the right side
/// for scripts that run to the left.
struct TextLine {
  Box box;
  double baseline = 0;  ///< y of the baseline
  double size = 0;      ///< of the em square
  std::string text;     ///< UTF-8
  Weight weight = Weight::regular;
  Align align = Align::start;
  Color color = kBlack;
  Cut cut = Cut::end;
};

/// A line whose baseline begins at (x, baseline), at most `width` wide.
TextLine text_line(double x, double baseline, double width, std::string text, double size);

/// A symbol whose first module has its top left at (x, y). Its quiet zone lies outside and is kept free by the layout.
struct PlacedSymbol {
  double x = 0;
  double y = 0;
  double module = 0;  ///< side of one module
  Symbol symbol;
  std::string payload;  ///< what it must read as
  std::string name;     ///< what people call the label, for messages

  double side() const { return module * symbol.size; }
  Box box() const { return {x, y, side(), side()}; }
  Box box_with_quiet() const {
    const double quiet = module * kQuietModules;
    return {x - quiet, y - quiet, side() + 2 * quiet, side() + 2 * quiet};
  }
};

using Shape = std::variant<FilledBox, OutlinedBox, Ring, Stroke, TextLine, PlacedSymbol>;

struct Picture {
  double width = 0;
  double height = 0;
  std::vector<Shape> shapes;

  /// Adds another picture's shapes, moved by (dx, dy).
  void add(const Picture& other, double dx, double dy);
  /// The symbols, in drawing order.
  std::vector<const PlacedSymbol*> symbols() const;
};

}  // namespace rackside::labels
