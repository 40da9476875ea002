#pragma once

#include <functional>
#include <string>
#include <vector>

#include "labels/design/layout.h"
#include "labels/sheet/sheet.h"
#include "labels/sheet/warnings.h"

namespace rackside::labels {

/// Pages for a desk printer are laid out on this grid, symbols on every second dot of it where they are large enough:
/// their modules are then whole dots at 150, 300 and 600 dpi. Why: a draft rendering stays sharp, and decoders that
/// sort finder patterns by how they look (ZBar) keep those of one label together on a full page; without that it read
/// 7 of 24 labels.
inline constexpr int kPageDpi = 300;
inline constexpr int kPageCoarse = 2;

/// One page, with what is to be said of its labels.
struct MadePage {
  Picture picture;
  PrintWarnings warnings;
};

/// The pages of a print, each made when it is asked for, so that a print of any length holds only a few at a time.
/// Thread: `make` may be called from several threads, each with a ruler of its own.
/// What it was made from (labels, design) must outlive it.
struct PagePlan {
  std::string title;
  std::size_t pages = 0;
  std::size_t labels = 0;
  int dpi = kPageDpi;                 ///< of the raster on which the pages are proven
  std::vector<std::string> warnings;  ///< of the whole print
  std::function<MadePage(std::size_t page, const TextRuler& ruler)> make;
};

/// Labels in order, row by row from the start cell on, over as many pages as they need.
/// Errors: as check_sheet, later as lay_out; bad_input without labels.
PagePlan sheet_plan(const std::vector<Label>& labels, const SheetSpec& sheet, const SheetOptions& options,
                    const Design* design = nullptr);

/// Each label a page of its own, for a roll: modules are whole dots of the printer, and their origin lies on a dot.
PagePlan roll_plan(const std::vector<Label>& labels, LabelSize size, int dpi, int repeat,
                   const Design* design = nullptr);

enum class Paper { a4, letter };

/// A page of entries for a handheld scanner: the symbol left, large text right, wide apart so that the beam does not
/// catch the neighbour. Every label is taken as a LabelKind::scan_line.
PagePlan scan_sheet_plan(const std::string& heading, const std::vector<Label>& lines, Paper paper);

/// A page to lay on the label sheet and hold against the light: every label's outline, with scales from which the
/// offsets can be read, and lines of 100 mm to lay a ruler on.
PagePlan calibration_plan(const SheetSpec& sheet, const SheetOptions& options);

/// What a rack's strips go by. Millimetres.
struct StripOptions {
  double pitch = 0;    ///< from one tub to the next; 0: as narrow as the labels allow
  double height = 22;  ///< of the strip
};

/// Strips for the front of a rack's shelves, each place over its tub: as many to a line as a page turned on its side
/// holds, with cutting marks. A new rack begins a new strip.
/// Errors: usage for a pitch or height that no strip has.
PagePlan strip_plan(const std::vector<Label>& places, Paper paper, const StripOptions& options);

/// All pages of a plan at once, for tests and pictures.
struct Pages {
  std::vector<Picture> pictures;
  std::vector<std::string> warnings;  ///< small modules, fields left out, no margin for the note; each once
};
Pages all_pages(const PagePlan& plan, const TextRuler& ruler);
Pages sheet_pages(const std::vector<Label>& labels, const SheetSpec& sheet, const SheetOptions& options,
                  const TextRuler& ruler);
Pages scan_sheet_pages(const std::string& heading, const std::vector<Label>& lines, Paper paper,
                       const TextRuler& ruler);

}  // namespace rackside::labels
