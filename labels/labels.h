#pragma once

#include <string>
#include <vector>

#include "labels/design/design.h"
#include "labels/design/label.h"
#include "labels/design/reach.h"
#include "labels/image/image.h"
#include "labels/print/press.h"
#include "labels/read/read.h"
#include "labels/sheet/pages.h"
#include "labels/sheet/sheet.h"

namespace rackside::labels {

// The whole of printing, for those who wire the program together. Every output has been read back before it is
// returned: Error(nothing_read) names a label that does not read. For reading see labels/read/read.h, for made-up
// photos labels/photo/photo.h.

/// Something that was drawn and proven.
struct Printed {
  std::string bytes;  ///< the file: PDF, PNG or SVG
  std::size_t pages = 1;
  std::vector<std::string> proven;    ///< what each symbol said when it was read back, in order
  std::vector<std::string> warnings;  ///< for people, each once
  double module_mm = 0;               ///< of the smallest symbol; labels/design/reach.h says how far it reads
};

/// A whole plan in memory: for few pages. Long prints go through print_pdf (labels/print/press.h).
Printed print_plan(const PagePlan& plan);

/// A PDF of labels on sheets. Read back page by page at kPageDpi.
/// Errors: usage, bad_input (sheet, options, a label too small); nothing_read.
Printed print_sheet(const std::vector<Label>& labels, const SheetSpec& sheet, const SheetOptions& options = {});

/// A PDF of scan-sheet pages.
Printed print_scan_sheet(const std::string& heading, const std::vector<Label>& lines, Paper paper);

/// A 1-bit PNG with its resolution stated, every module a whole number of dots. Read back from those very bits.
/// Units:  `dpi` 100..1200; label printers have 203 or 300.
Printed print_label_png(const Label& label, LabelSize size, int dpi, const Design* design = nullptr);

/// An SVG of one label, with modules that are whole dots at kPageDpi.
Printed print_label_svg(const Label& label, LabelSize size, const Design* design = nullptr);

/// A picture of one label for the screen, in grey, as it will be printed at `dpi`; proven all the same.
struct Preview {
  GrayImage picture;
  std::vector<std::string> warnings;
  double module_mm = 0;
};
Preview preview_label(const Label& label, LabelSize size, int dpi, const Design* design = nullptr);
std::string png_of(const GrayImage& picture, int dpi = kPageDpi);

/// Errors: usage for a size or a resolution that no label printer has.
void check_label_size(LabelSize size, int dpi);

}  // namespace rackside::labels
