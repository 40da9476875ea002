#pragma once

#include <string>
#include <vector>

#include "labels/design/layout.h"
#include "labels/sheet/sheet.h"

namespace rackside::labels {

/// Pages for a desk printer are laid out on this grid: modules and their origins are whole dots at 300 and 600 dpi.
inline constexpr int kPageDpi = 300;

struct Pages {
  std::vector<Picture> pictures;
  std::vector<std::string> warnings;  ///< small modules, fields left out, no margin for the note; each once
};

/// Labels in order, row by row from the start cell on, over as many pages as they need.
/// Errors: as check_sheet and lay_out; bad_input without labels.
Pages sheet_pages(const std::vector<Label>& labels, const SheetSpec& sheet, const SheetOptions& options,
                  const TextRuler& ruler);

enum class Paper { a4, letter };

/// A page of entries for a handheld scanner: the symbol left, large text right, wide apart so that the beam does not
/// catch the neighbour. Every label is taken as a LabelKind::scan_line.
Pages scan_sheet_pages(const std::string& heading, const std::vector<Label>& lines, Paper paper,
                       const TextRuler& ruler);

}  // namespace rackside::labels
