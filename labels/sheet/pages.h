#pragma once

#include <string>
#include <vector>

#include "labels/design/layout.h"
#include "labels/sheet/sheet.h"

namespace rackside::labels {

/// Pages for a desk printer are laid out on this grid, symbols on every second dot of it where they are large enough:
/// their modules are then whole dots at 150, 300 and 600 dpi. Why: a draft rendering stays sharp, and decoders that
/// sort finder patterns by how they look (ZBar) keep those of one label together on a full page; without that it read
/// 7 of 24 labels.
inline constexpr int kPageDpi = 300;
inline constexpr int kPageCoarse = 2;

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
