#include "labels/sheet/marks.h"

#include <algorithm>

#include "labels/design/text_fit.h"

namespace rackside::labels {
namespace {

constexpr double kNoteSize = 2.3;
constexpr double kNoteMargin = 7;  ///< least white for the note: it keeps off the labels and off the unprinted edge
constexpr double kRulerLength = 50;
constexpr double kLineWidth = 0.25;
constexpr double kCutArm = 1.5;
constexpr double kCutWidth = 0.1;

double bottom_of(const SheetSpec& sheet) {
  return sheet.top + (sheet.rows - 1) * sheet.pitch_y + sheet.label_height;
}

void add_ruler_line(Picture& page, double x, double y, double length) {
  page.shapes.emplace_back(Stroke{x, y, x + length, y, kLineWidth});
  for (const double end : {x, x + length}) page.shapes.emplace_back(Stroke{end, y - 1, end, y + 1, kLineWidth});
}

}  // namespace

Picture blank_page(double width, double height) {
  Picture page;
  page.width = width;
  page.height = height;
  return page;
}

std::string note_text(const std::string& what, std::size_t page, std::size_t pages) {
  return "Print at 100 %, not fitted to the page: this line is 50 mm   ·   " + what + "   ·   page " +
         std::to_string(page + 1) + " of " + std::to_string(pages);
}

void add_note(Picture& page, const std::string& text, double x, double y, double width, const TextRuler& ruler) {
  add_ruler_line(page, x, y + kNoteSize * 0.5, kRulerLength);
  const Box box{x + kRulerLength + 2.5, y, width - kRulerLength - 2.5, kNoteSize};
  page.shapes.emplace_back(fit_line(ruler, text, box, {}));
}

bool has_note_margin(const SheetSpec& sheet) {
  return sheet.page_height - bottom_of(sheet) >= kNoteMargin || sheet.top >= kNoteMargin;
}

void add_sheet_note(Picture& page, const SheetSpec& sheet, const std::string& text, const TextRuler& ruler) {
  const double x = std::max(sheet.left, 8.0);
  const double width = sheet.page_width - 2 * x;
  const double bottom = bottom_of(sheet);
  const bool under = sheet.page_height - bottom >= kNoteMargin;
  add_note(page, text, x, under ? bottom + 2.2 : sheet.top - 2.2 - kNoteSize, width, ruler);
}

void add_cell_note(Picture& page, const Box& cell, const std::string& sheet, const TextRuler& ruler) {
  const double inset = std::min(3.0, cell.height * 0.12);
  const Box inner{cell.x + inset, cell.y + inset, cell.width - 2 * inset, cell.height - 2 * inset};
  const double line = std::min(3.2, inner.height / 5);
  const auto set = [&](const std::string& text, double lines_down, Weight weight) {
    page.shapes.emplace_back(
        fit_line(ruler, text, {inner.x, inner.y + lines_down * line, inner.width, line}, {weight}));
  };
  const double length = inner.width >= kRulerLength ? kRulerLength : 30;
  set("Print at 100 %", 0, Weight::bold);
  set("not fitted to the page; " + sheet, 1.2, Weight::regular);
  set("This line is " + std::to_string(static_cast<int>(length)) + " mm:", 2.4, Weight::regular);
  add_ruler_line(page, inner.x, inner.y + 4.3 * line, length);
}

void add_cut_marks(Picture& page, const Box& label) {
  for (const double x : {label.x, label.right()}) {
    for (const double y : {label.y, label.bottom()}) {
      page.shapes.emplace_back(Stroke{x - kCutArm, y, x + kCutArm, y, kCutWidth});
      page.shapes.emplace_back(Stroke{x, y - kCutArm, x, y + kCutArm, kCutWidth});
    }
  }
}

}  // namespace rackside::labels
