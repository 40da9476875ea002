#pragma once

#include <string>
#include <vector>

#include "labels/design/label.h"
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
};

/// A PDF of labels on sheets. Read back page by page at kPageDpi.
/// Errors: usage, bad_input (sheet, options, a label too small); nothing_read.
Printed print_sheet(const std::vector<Label>& labels, const SheetSpec& sheet, const SheetOptions& options = {});

/// A PDF of scan-sheet pages.
Printed print_scan_sheet(const std::string& heading, const std::vector<Label>& lines, Paper paper);

/// A 1-bit PNG with its resolution stated, every module a whole number of dots. Read back from those very bits.
/// Units:  `dpi` 100..1200; label printers have 203 or 300.
Printed print_label_png(const Label& label, LabelSize size, int dpi);

/// An SVG of one label, with modules that are whole dots at kPageDpi.
Printed print_label_svg(const Label& label, LabelSize size);

}  // namespace rackside::labels
