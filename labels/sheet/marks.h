#pragma once

#include <string>

#include "labels/design/picture.h"
#include "labels/design/text_ruler.h"
#include "labels/sheet/sheet.h"

namespace rackside::labels {

// What stands on a page beside the labels.

Picture blank_page(double width, double height);

/// "Print at 100 %, not fitted to the page …", for page `page` (from 0) of `pages`.
std::string note_text(const std::string& what, std::size_t page, std::size_t pages);

/// The text beside a line of 50 mm to lay a ruler on.
void add_note(Picture& page, const std::string& text, double x, double y, double width, const TextRuler& ruler);

/// Whether a sheet's labels leave a margin in which a printer prints and the note has room.
bool has_note_margin(const SheetSpec& sheet);
/// Under the last row, or over the first one.
void add_sheet_note(Picture& page, const SheetSpec& sheet, const std::string& text, const TextRuler& ruler);

/// The note in the place of a label, over several lines.
void add_cell_note(Picture& page, const Box& cell, const std::string& sheet, const TextRuler& ruler);

/// Crosses at the corners of a label. Cut along them, nothing of them is left on the label.
void add_cut_marks(Picture& page, const Box& label);

}  // namespace rackside::labels
