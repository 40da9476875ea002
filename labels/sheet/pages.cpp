#include "labels/sheet/pages.h"

#include <algorithm>

#include "core/base/error.h"
#include "labels/design/text_fit.h"
#include "labels/sheet/warnings.h"

namespace rackside::labels {
namespace {

constexpr double kNoteSize = 2.3;
constexpr double kNoteMargin = 7;  ///< least white for the note: it keeps off the labels and off the unprinted edge
constexpr double kRulerLength = 50;

// The scan sheet, millimetres.
constexpr double kSide = 15;
constexpr double kHeadTop = 14;
constexpr double kHeadHeight = 7;
constexpr double kFirstLine = 31;
constexpr double kFoot = 15;
constexpr double kLineHeight = 27;
constexpr double kLineSymbolRoom = 24;

Picture blank_page(double width, double height) {
  Picture page;
  page.width = width;
  page.height = height;
  return page;
}

/// A line of 50 mm to lay a ruler on, and what to set in the print dialogue.
void add_note(Picture& page, const std::string& text, double x, double y, double width, const TextRuler& ruler) {
  const double line_y = y + kNoteSize * 0.5;
  page.shapes.emplace_back(Stroke{x, line_y, x + kRulerLength, line_y, 0.25});
  for (const double end : {x, x + kRulerLength}) {
    page.shapes.emplace_back(Stroke{end, line_y - 1, end, line_y + 1, 0.25});
  }
  const Box box{x + kRulerLength + 2.5, y, width - kRulerLength - 2.5, kNoteSize};
  page.shapes.emplace_back(fit_line(ruler, text, box, {}));
}

std::string note_text(const std::string& what, std::size_t page, std::size_t pages) {
  return "Print at 100 %, not fitted to the page: this line is 50 mm   ·   " + what + "   ·   page " +
         std::to_string(page) + " of " + std::to_string(pages);
}

/// Under the last row, or over the first one; nowhere when the labels fill the page.
bool add_sheet_note(Picture& page, const SheetSpec& sheet, const std::string& text, const TextRuler& ruler) {
  const double bottom = sheet.top + (sheet.rows - 1) * sheet.pitch_y + sheet.label_height;
  const double width = sheet.page_width - 2 * std::max(sheet.left, 8.0);
  const double x = std::max(sheet.left, 8.0);
  if (sheet.page_height - bottom >= kNoteMargin)
    add_note(page, text, x, bottom + 2.2, width, ruler);
  else if (sheet.top >= kNoteMargin)
    add_note(page, text, x, sheet.top - 2.2 - kNoteSize, width, ruler);
  else
    return false;
  return true;
}

void add_notes(Pages& pages, const SheetSpec& sheet, const TextRuler& ruler) {
  const std::size_t count = pages.pictures.size();
  bool room = true;
  for (std::size_t i = 0; i < count; ++i) {
    room = add_sheet_note(pages.pictures[i], sheet, note_text(sheet.name, i + 1, count), ruler) && room;
  }
  if (!room) {
    pages.warnings.push_back("The labels of " + sheet.name +
                             " leave no margin for a note: print at 100 %, not fitted to the page.");
  }
}

Picture scan_page(const std::string& heading, double width, double height, const TextRuler& ruler) {
  Picture page = blank_page(width, height);
  const Box head{kSide, kHeadTop, width - 2 * kSide, kHeadHeight};
  page.shapes.emplace_back(fit_headline(ruler, heading, head, {Weight::bold}));
  const Box hint{kSide, kHeadTop + kHeadHeight + 2, width - 2 * kSide, 3.6};
  page.shapes.emplace_back(fit_line(ruler, "Scan the tub or the animal, then the line.", hint, {}));
  return page;
}

void add_rule(Picture& page, double y, double width) {
  page.shapes.emplace_back(Stroke{kSide, y, width - kSide, y, 0.2});
}

}  // namespace

Pages sheet_pages(const std::vector<Label>& labels, const SheetSpec& sheet, const SheetOptions& options,
                  const TextRuler& ruler) {
  check_sheet(sheet, options);
  if (labels.empty()) throw core::Error(core::Fault::bad_input, "There is nothing to print: no label was given.");
  Pages pages;
  PrintWarnings warnings;
  for (std::size_t i = 0; i < labels.size(); ++i) {
    const CellPlace place = place_of(sheet, options, i);
    if (place.page >= pages.pictures.size()) pages.pictures.push_back(blank_page(sheet.page_width, sheet.page_height));
    const DotGrid grid{kPageDpi, kPageCoarse, place.x, place.y};
    const LaidOutLabel label = lay_out(labels[i], {sheet.label_width, sheet.label_height}, grid, ruler);
    pages.pictures.back().add(label.picture, place.x, place.y);
    warnings.add(labels[i], label);
  }
  pages.warnings = warnings.texts();
  add_notes(pages, sheet, ruler);
  return pages;
}

Pages scan_sheet_pages(const std::string& heading, const std::vector<Label>& lines, Paper paper,
                       const TextRuler& ruler) {
  if (lines.empty()) throw core::Error(core::Fault::bad_input, "There is nothing to print: no entry was given.");
  const double width = paper == Paper::a4 ? 210 : 215.9;
  const double height = paper == Paper::a4 ? 297 : 279.4;
  const auto per_page = static_cast<std::size_t>((height - kFirstLine - kFoot) / kLineHeight);
  const std::size_t count = (lines.size() + per_page - 1) / per_page;
  Pages pages;
  PrintWarnings warnings;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (i % per_page == 0) pages.pictures.push_back(scan_page(heading, width, height, ruler));
    Picture& page = pages.pictures.back();
    const double y = kFirstLine + static_cast<double>(i % per_page) * kLineHeight;
    Label line = lines[i];
    line.kind = LabelKind::scan_line;
    const double label_y = y + (kLineHeight - kLineSymbolRoom) / 2;
    const DotGrid grid{kPageDpi, kPageCoarse, kSide, label_y};
    const LaidOutLabel laid_out = lay_out(line, {width - 2 * kSide, kLineSymbolRoom}, grid, ruler);
    page.add(laid_out.picture, kSide, label_y);
    add_rule(page, y, width);
    if (i % per_page == per_page - 1 || i + 1 == lines.size()) add_rule(page, y + kLineHeight, width);
    warnings.add(line, laid_out);
  }
  pages.warnings = warnings.texts();
  for (std::size_t i = 0; i < count; ++i) {
    add_note(pages.pictures[i], note_text(heading, i + 1, count), kSide, height - kFoot + 4, width - 2 * kSide, ruler);
  }
  return pages;
}

}  // namespace rackside::labels
