#pragma once

#include <string>
#include <vector>

#include "labels/design/design.h"
#include "labels/design/label.h"
#include "labels/design/picture.h"
#include "labels/design/text_ruler.h"

namespace rackside::labels {

/// Below this a module is refused: a printer's spread fills it. Common practice, no source.
inline constexpr int kLeastModuleDots = 3;
/// Below either a label reads only from close by: a warning. Common practice, no source.
inline constexpr int kFewModuleDots = 4;
inline constexpr double kSmallModuleMm = 0.4;
/// No module grows over this: at half a metre a phone has then what it needs (reach.h), and the room is the text's.
inline constexpr double kMostModuleMm = 1.1;

/// The dots that a symbol is fitted to.
struct DotGrid {
  int dpi = 300;
  int coarse = 1;  ///< modules of at least kLeastModuleDots × this many dots are whole multiples of it, origins too
  double label_x = 0;  ///< where the label will lie, mm from the grid's origin
  double label_y = 0;
};

struct LaidOutLabel {
  Picture picture;  ///< as large as the label
  double module_mm = 0;
  int module_dots = 0;                ///< of `grid.dpi`
  std::vector<std::string> left_out;  ///< fields that had no room, in words; empty as a rule
  std::string no_font;                ///< characters that could not be drawn
};

/// Places a label's fields in `size`, in the order and sizes of `design`: the name largest. Labels lower than 27 mm
/// take a low form with the code beside the symbol instead of under it; on wide ones the marker's box stands at the
/// right.
/// Units:   the symbol's modules are whole dots of `grid`, and its origin lies on a dot.
/// Ensures: no text's ink leaves its box, and no two boxes nor the quiet zone overlap, for any text.
/// Errors:  bad_input when a module would be under kLeastModuleDots, with what would fit instead.
/// Pure.
LaidOutLabel lay_out(const Label& label, const Design& design, LabelSize size, const DotGrid& grid,
                     const TextRuler& ruler);
/// With the built-in design of the label's kind.
LaidOutLabel lay_out(const Label& label, LabelSize size, const DotGrid& grid, const TextRuler& ruler);

}  // namespace rackside::labels
