#include <cmath>
#include <cstdio>

#include "labels/design/text_fit.h"
#include "labels/sheet/marks.h"
#include "labels/sheet/pages.h"

namespace rackside::labels {
namespace {

constexpr double kOutline = 0.15;
constexpr double kTick = 0.1;
constexpr int kHalfMillimetres = 10;  ///< either way on a scale
constexpr double kLongLine = 100;
constexpr double kTextSize = 2.6;

/// A scale of half millimetres across an edge: 0 lies on the edge, long ticks are whole millimetres.
void add_scale(Picture& page, double x, double y, bool across) {
  for (int half = -kHalfMillimetres; half <= kHalfMillimetres; ++half) {
    const double at = half * 0.5;
    const double length = half == 0 ? 5 : half % 10 == 0 ? 4 : half % 2 == 0 ? 2.6 : 1.4;
    if (across)
      page.shapes.emplace_back(Stroke{x + at, y, x + at, y + length, kTick});
    else
      page.shapes.emplace_back(Stroke{x, y + at, x + length, y + at, kTick});
  }
}

void add_long_line(Picture& page, double x, double y, bool across) {
  const double right = across ? x + kLongLine : x;
  const double bottom = across ? y : y + kLongLine;
  page.shapes.emplace_back(Stroke{x, y, right, bottom, 0.2});
  for (const double part : {0.0, 1.0}) {
    const double end_x = x + (right - x) * part;
    const double end_y = y + (bottom - y) * part;
    page.shapes.emplace_back(across ? Stroke{end_x, end_y - 2, end_x, end_y + 2, 0.2}
                                    : Stroke{end_x - 2, end_y, end_x + 2, end_y, 0.2});
  }
}

/// The words stand on white, over the outlines.
void add_words(Picture& page, const SheetSpec& sheet, const SheetOptions& options, const TextRuler& ruler) {
  char offsets[96];
  std::snprintf(offsets, sizeof offsets, "Printed with --right %g --down %g.", options.offset_x, options.offset_y);
  const std::string lines[] = {
      "Calibration of " + sheet.name,
      "1. Print this page on plain paper, at 100 %, not fitted to the page.",
      "2. Measure the two long lines: each is 100.0 mm. If not, it was not printed at 100 %.",
      "3. Lay it on a label sheet and hold both against the light: every outline should lie on a label's edge.",
      "4. If not, read on the scales where the label's edges really are, in half millimetres: an edge 1.5 mm right of",
      "    the 0 wants --right 1.5, one left of it --right -1.5; one below wants --down 1.5, one above --down -1.5.",
      offsets};
  const double x = sheet.page_width / 2 - 70;
  double y = sheet.page_height / 2 - 14;
  page.shapes.emplace_back(FilledBox{{x - 4, y - 4, 148, 40}, kWhite, 2});
  page.shapes.emplace_back(OutlinedBox{{x - 4, y - 4, 148, 40}, 0.25, 2});
  bool first = true;
  for (const std::string& line : lines) {
    const double size = first ? 4.2 : kTextSize;
    page.shapes.emplace_back(fit_line(ruler, line, {x, y, 140, size}, {first ? Weight::bold : Weight::regular}, 0.6));
    y += size + (first ? 2.2 : 1.8);
    first = false;
  }
}

MadePage make_page(const SheetSpec& sheet, const SheetOptions& options, const TextRuler& ruler) {
  MadePage page{blank_page(sheet.page_width, sheet.page_height), {}};
  const auto cells = static_cast<std::size_t>(sheet.cells());
  for (std::size_t i = 0; i < cells; ++i) {
    const CellPlace cell = place_of(sheet, options, i);
    // The middle of the line lies on the edge.
    page.picture.shapes.emplace_back(OutlinedBox{
        {cell.x - kOutline / 2, cell.y - kOutline / 2, sheet.label_width + kOutline, sheet.label_height + kOutline},
        kOutline,
        0});
  }
  for (const std::size_t i : {std::size_t{0}, cells - 1}) {
    const CellPlace cell = place_of(sheet, options, i);
    const double right = cell.x + sheet.label_width;
    const double bottom = cell.y + sheet.label_height;
    add_scale(page.picture, cell.x, cell.y + sheet.label_height / 2, true);
    add_scale(page.picture, right, cell.y + sheet.label_height / 2, true);
    add_scale(page.picture, cell.x + sheet.label_width / 2, cell.y, false);
    add_scale(page.picture, cell.x + sheet.label_width / 2, bottom, false);
  }
  add_words(page.picture, sheet, options, ruler);
  add_long_line(page.picture, sheet.page_width / 2 - 50, sheet.page_height / 2 + 40, true);
  add_long_line(page.picture, 15, sheet.page_height / 2 - 50, false);
  return page;
}

}  // namespace

PagePlan calibration_plan(const SheetSpec& sheet, const SheetOptions& options) {
  SheetOptions whole = options;
  whole.start_cell = 1;
  whole.note = SheetNote::none;
  check_sheet(sheet, whole);
  PagePlan plan{"Calibration, " + sheet.name, 1, 0, kPageDpi, {}, {}};
  plan.make = [sheet, whole](std::size_t, const TextRuler& ruler) { return make_page(sheet, whole, ruler); };
  return plan;
}

}  // namespace rackside::labels
