#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "labels/design/label.h"
#include "labels/design/picture.h"

namespace rackside::labels {

/// A sheet of labels, described by size alone. Millimetres.
struct SheetSpec {
  std::string name;  ///< what the command line calls it: "a4-3x8"
  double page_width = 0;
  double page_height = 0;
  int columns = 0;
  int rows = 0;
  double label_width = 0;
  double label_height = 0;
  double left = 0;  ///< of the first label
  double top = 0;
  double pitch_x = 0;  ///< from one label's left to the next one's
  double pitch_y = 0;

  int cells() const { return columns * rows; }
};

std::span<const SheetSpec> built_in_sheets();

/// The built-in sheet of that name.
/// Errors: usage, with the names there are.
const SheetSpec& find_sheet(std::string_view name);

/// A sheet of the keeper's own, from a file's text:
///     page    210 x 297        # mm; or inches: 8.5 x 11 in
///     labels  3 x 8            # columns x rows
///     label   63.5 x 33.9
///     first   7.2 x 12.9       # the first label's left and top; centred on the page where it is missing
///     pitch   66 x 33.9        # from one label to the next; the label's own size where it is missing
/// `name` is what messages and the page's note call it.
/// Errors: bad_input, naming the line.
SheetSpec parse_sheet(std::string_view text, const std::string& name);

/// Where "print at 100 %" is written.
enum class SheetNote {
  margin,  ///< where the labels leave room for it; a warning where they do not
  cell,    ///< the first free label is spent on it
  none,
};

struct SheetOptions {
  int start_cell = 1;   ///< 1 is the top left; for a sheet whose first labels are used up. First page only
  double offset_x = 0;  ///< mm to the right that the printer prints too far left; steps of 0.5
  double offset_y = 0;
  int repeat = 1;          ///< each label so many times, side by side
  bool cut_marks = false;  ///< a cross at every corner of a label, for film and plain paper
  SheetNote note = SheetNote::margin;
};

/// Checks a sheet that came from outside, and the options against it.
/// Errors: usage or bad_input, saying which measure is wrong and what would be right.
void check_sheet(const SheetSpec& sheet, const SheetOptions& options);

/// Where cell `index` (0-based over all pages, start_cell counted in) lies: page and top left.
struct CellPlace {
  std::size_t page = 0;
  double x = 0;
  double y = 0;
};
CellPlace place_of(const SheetSpec& sheet, const SheetOptions& options, std::size_t label_index);

}  // namespace rackside::labels
