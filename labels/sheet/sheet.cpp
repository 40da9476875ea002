#include "labels/sheet/sheet.h"

#include <array>
#include <cmath>
#include <cstdio>
#include <set>

#include "core/base/error.h"
#include "labels/form/form.h"

namespace rackside::labels {
namespace {

using core::Error;
using core::Fault;

constexpr double kA4Width = 210;
constexpr double kA4Height = 297;
constexpr double kLetterWidth = 215.9;
constexpr double kLetterHeight = 279.4;
constexpr double kOffsetStep = 0.5;
constexpr double kMostOffset = 10;
constexpr double kLeastPage = 30;
constexpr double kMostPage = 600;
constexpr int kMostRepeat = 1000;
constexpr double kSlack = 0.11;  ///< grids given in tenths of a millimetre may pass the edge by one

/// Grids that are sold by many makers, given by size. Margins: half of what the labels leave, where gaps allow it.
/// The measures are common practice, no source; those of 4 x 20 from memory.
const std::array<SheetSpec, 11> kSheets = {{
    {"a4-3x8", kA4Width, kA4Height, 3, 8, 70, 37, 0, 0.5, 70, 37},
    {"a4-3x8-63", kA4Width, kA4Height, 3, 8, 63.5, 33.9, 7.25, 12.9, 66, 33.9},
    {"a4-3x7", kA4Width, kA4Height, 3, 7, 63.5, 38.1, 7.25, 15.15, 66, 38.1},
    {"a4-2x7", kA4Width, kA4Height, 2, 7, 99.1, 38.1, 4.65, 15.15, 101.6, 38.1},
    {"a4-2x4", kA4Width, kA4Height, 2, 4, 99.1, 67.7, 4.65, 13.1, 101.6, 67.7},
    {"a4-4x10", kA4Width, kA4Height, 4, 10, 48.5, 25.4, 8, 21.5, 48.5, 25.4},
    {"a4-5x13", kA4Width, kA4Height, 5, 13, 38.1, 21.2, 4.75, 10.7, 40.6, 21.2},
    {"letter-3x10", kLetterWidth, kLetterHeight, 3, 10, 66.675, 25.4, 4.7625, 12.7, 69.85, 25.4},
    {"letter-2x10", kLetterWidth, kLetterHeight, 2, 10, 101.6, 25.4, 3.96875, 12.7, 106.3625, 25.4},
    {"letter-2x5", kLetterWidth, kLetterHeight, 2, 5, 101.6, 50.8, 3.96875, 12.7, 106.3625, 50.8},
    {"letter-4x20", kLetterWidth, kLetterHeight, 4, 20, 44.45, 12.7, 7.62, 12.7, 52.07, 12.7},
}};

std::string mm(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%g mm", value);
  return text;
}

void check_extent(const char* direction, double first, double pitch, int count, double label, double page) {
  const std::string where = std::string("The sheet's labels ") + direction;
  if (!(page >= kLeastPage && page <= kMostPage)) {
    throw Error(Fault::bad_input,
                "A page measures " + mm(kLeastPage) + " to " + mm(kMostPage) + " each way, not " + mm(page) + ".");
  }
  if (count < 1 || count > 100) throw Error(Fault::bad_input, where + " must be 1 to 100.");
  if (!(label >= 5 && label <= page)) {
    throw Error(Fault::bad_input,
                where + " measure " + mm(label) + "; they must be 5 mm to the page's " + mm(page) + ".");
  }
  if (count > 1 && !(pitch >= label)) {
    throw Error(Fault::bad_input,
                where + " would overlap: the pitch " + mm(pitch) + " is less than the label's " + mm(label) + ".");
  }
  const double end = first + (count - 1) * pitch + label;
  if (!(first >= -kSlack && end <= page + kSlack)) {
    throw Error(Fault::bad_input,
                where + " reach from " + mm(first) + " to " + mm(end) + ", outside the page of " + mm(page) + ".");
  }
}

void check_offset(double offset) {
  const double steps = offset / kOffsetStep;
  if (std::abs(steps - std::round(steps)) < 1e-9 && std::abs(offset) <= kMostOffset) return;
  throw Error(Fault::usage,
              "An offset of " + mm(offset) + " is not possible: steps of 0.5 mm, at most 10 mm either way.");
}

/// Reads one file, each word at most once.
class SheetFile {
 public:
  explicit SheetFile(const std::string& name) : name_(name) { sheet_.name = name; }

  SheetSpec read(std::string_view text) {
    for (const FormLine& line : form_lines(text, name_)) take(line);
    for (const char* word : {"page", "labels", "label"}) {
      if (seen_.contains(word)) continue;
      throw Error(Fault::bad_input, name_ + " does not say “" + word +
                                        "”. A sheet is described by “page”, “labels” "
                                        "and “label”, and where they matter “first” and “pitch”.");
    }
    fill_in();
    // Its measures must agree with each other.
    check_sheet(sheet_, {});
    return sheet_;
  }

 private:
  void take(const FormLine& line) {
    if (!seen_.insert(line.word).second) form_error(name_, line.number, "“" + line.word + "” is said twice.");
    if (line.word == "page") {
      set(form_measures(line, name_), sheet_.page_width, sheet_.page_height);
    } else if (line.word == "label") {
      set(form_measures(line, name_), sheet_.label_width, sheet_.label_height);
    } else if (line.word == "first") {
      set(form_measures(line, name_), sheet_.left, sheet_.top);
    } else if (line.word == "pitch") {
      set(form_measures(line, name_), sheet_.pitch_x, sheet_.pitch_y);
    } else if (line.word == "labels") {
      const Pair counts = form_counts(line, name_);
      sheet_.columns = static_cast<int>(counts.first);
      sheet_.rows = static_cast<int>(counts.second);
    } else {
      form_error(name_, line.number,
                 "“" + line.word + "” is no word of a sheet." +
                     did_you_mean(line.word, {"page", "labels", "label", "first", "pitch"}));
    }
  }

  static void set(const Pair& pair, double& first, double& second) {
    first = pair.first;
    second = pair.second;
  }

  void fill_in() {
    if (!seen_.contains("pitch")) set({sheet_.label_width, sheet_.label_height}, sheet_.pitch_x, sheet_.pitch_y);
    if (seen_.contains("first")) return;
    const double wide = (sheet_.columns - 1) * sheet_.pitch_x + sheet_.label_width;
    const double high = (sheet_.rows - 1) * sheet_.pitch_y + sheet_.label_height;
    set({(sheet_.page_width - wide) / 2, (sheet_.page_height - high) / 2}, sheet_.left, sheet_.top);
  }

  std::string name_;
  SheetSpec sheet_;
  std::set<std::string> seen_;
};

}  // namespace

std::span<const SheetSpec> built_in_sheets() {
  return kSheets;
}

const SheetSpec& find_sheet(std::string_view name) {
  std::string names;
  for (const SheetSpec& sheet : kSheets) {
    if (sheet.name == name) return sheet;
    names += (names.empty() ? "" : ", ") + sheet.name;
  }
  throw Error(Fault::usage, "There is no sheet \"" + std::string(name) + "\". There are: " + names + ".");
}

SheetSpec parse_sheet(std::string_view text, const std::string& name) {
  return SheetFile(name).read(text);
}

void check_sheet(const SheetSpec& sheet, const SheetOptions& options) {
  check_extent("across", sheet.left, sheet.pitch_x, sheet.columns, sheet.label_width, sheet.page_width);
  check_extent("downwards", sheet.top, sheet.pitch_y, sheet.rows, sheet.label_height, sheet.page_height);
  check_offset(options.offset_x);
  check_offset(options.offset_y);
  if (options.start_cell < 1 || options.start_cell > sheet.cells()) {
    throw Error(Fault::usage, "This sheet has cells 1 to " + std::to_string(sheet.cells()) +
                                  "; it cannot start at cell " + std::to_string(options.start_cell) + ".");
  }
  if (options.repeat < 1 || options.repeat > kMostRepeat)
    throw Error(Fault::usage, "A label is repeated 1 to 1000 times.");
}

CellPlace place_of(const SheetSpec& sheet, const SheetOptions& options, std::size_t label_index) {
  const int first = options.start_cell - 1 + (options.note == SheetNote::cell ? 1 : 0);
  const std::size_t index = label_index + static_cast<std::size_t>(first);
  const auto cells = static_cast<std::size_t>(sheet.cells());
  const auto columns = static_cast<std::size_t>(sheet.columns);
  const std::size_t cell = index % cells;
  return {index / cells, sheet.left + options.offset_x + static_cast<double>(cell % columns) * sheet.pitch_x,
          sheet.top + options.offset_y + static_cast<double>(cell / columns) * sheet.pitch_y};
}

}  // namespace rackside::labels
