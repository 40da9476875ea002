#include "labels/sheet/pages.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "core/base/error.h"
#include "labels/design/text_fit.h"
#include "labels/sheet/marks.h"

namespace rackside::labels {
namespace {

// The scan sheet, millimetres.
constexpr double kSide = 15;
constexpr double kHeadTop = 14;
constexpr double kHeadHeight = 7;
constexpr double kFirstLine = 31;
constexpr double kFoot = 15;
constexpr double kLineHeight = 27;
constexpr double kLineSymbolRoom = 24;

constexpr double kSameSize = 0.05;  ///< millimetres

void need_labels(const std::vector<Label>& labels, const char* what) {
  if (labels.empty())
    throw core::Error(core::Fault::bad_input, std::string("There is nothing to print: no ") + what + " was given.");
}

/// A design of a size of its own goes on labels of that size only.
void check_design_size(const Design* design, LabelSize size) {
  if (design == nullptr || !design->size) return;
  const LabelSize wanted = *design->size;
  if (std::abs(wanted.width_mm - size.width_mm) <= kSameSize &&
      std::abs(wanted.height_mm - size.height_mm) <= kSameSize) {
    return;
  }
  char text[200];
  std::snprintf(text, sizeof text,
                "The design is for labels of %g x %g mm, and these measure %g x %g mm. Choose others, or take the size "
                "out of the design.",
                wanted.width_mm, wanted.height_mm, size.width_mm, size.height_mm);
  throw core::Error(core::Fault::bad_input, text);
}

const Design& design_or_built_in(const Design* design, const Label& label) {
  return design != nullptr ? *design : built_in_design(label.kind);
}

/// What all pages of a sheet print share.
struct SheetPrint {
  const std::vector<Label>* labels;
  SheetSpec sheet;
  SheetOptions options;
  const Design* design;
  std::size_t pages;

  std::size_t count() const { return labels->size() * static_cast<std::size_t>(options.repeat); }
  const Label& label(std::size_t index) const { return (*labels)[index / static_cast<std::size_t>(options.repeat)]; }
  /// The first label, over all pages, that lies on a page or behind it.
  std::size_t first_on(std::size_t page) const {
    std::size_t low = 0;
    std::size_t high = count();
    while (low < high) {
      const std::size_t middle = (low + high) / 2;
      if (place_of(sheet, options, middle).page < page)
        low = middle + 1;
      else
        high = middle;
    }
    return low;
  }
};

void add_label(MadePage& page, const SheetPrint& print, std::size_t index, const TextRuler& ruler) {
  const CellPlace place = place_of(print.sheet, print.options, index);
  const Label& label = print.label(index);
  const DotGrid grid{kPageDpi, kPageCoarse, place.x, place.y};
  const LabelSize size{print.sheet.label_width, print.sheet.label_height};
  const LaidOutLabel laid_out = lay_out(label, design_or_built_in(print.design, label), size, grid, ruler);
  page.picture.add(laid_out.picture, place.x, place.y);
  page.warnings.add(label, laid_out);
  if (print.options.cut_marks) add_cut_marks(page.picture, {place.x, place.y, size.width_mm, size.height_mm});
}

void add_sheet_notes(MadePage& page, const SheetPrint& print, std::size_t number, const TextRuler& ruler) {
  const SheetSpec& sheet = print.sheet;
  if (print.options.note == SheetNote::none) return;
  if (print.options.note == SheetNote::cell) {
    if (number > 0) return;
    SheetOptions first = print.options;
    first.note = SheetNote::none;
    const CellPlace cell = place_of(sheet, first, 0);
    add_cell_note(page.picture, {cell.x, cell.y, sheet.label_width, sheet.label_height}, sheet.name, ruler);
  } else if (has_note_margin(sheet)) {
    add_sheet_note(page.picture, sheet, note_text(sheet.name, number, print.pages), ruler);
  }
}

MadePage make_sheet_page(const SheetPrint& print, std::size_t number, const TextRuler& ruler) {
  MadePage page{blank_page(print.sheet.page_width, print.sheet.page_height), {}};
  const std::size_t end = print.first_on(number + 1);
  for (std::size_t i = print.first_on(number); i < end; ++i) add_label(page, print, i, ruler);
  add_sheet_notes(page, print, number, ruler);
  return page;
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

struct ScanPrint {
  std::string heading;
  const std::vector<Label>* lines;
  double width;
  double height;

  std::size_t per_page() const { return static_cast<std::size_t>((height - kFirstLine - kFoot) / kLineHeight); }
  std::size_t pages() const { return (lines->size() + per_page() - 1) / per_page(); }
};

void add_scan_line(MadePage& page, const ScanPrint& print, std::size_t index, const TextRuler& ruler) {
  const double y = kFirstLine + static_cast<double>(index % print.per_page()) * kLineHeight;
  const double label_y = y + (kLineHeight - kLineSymbolRoom) / 2;
  Label line = (*print.lines)[index];
  line.kind = LabelKind::scan_line;
  const DotGrid grid{kPageDpi, kPageCoarse, kSide, label_y};
  const LaidOutLabel laid_out = lay_out(line, {print.width - 2 * kSide, kLineSymbolRoom}, grid, ruler);
  page.picture.add(laid_out.picture, kSide, label_y);
  page.warnings.add(line, laid_out);
  add_rule(page.picture, y, print.width);
}

MadePage make_scan_page(const ScanPrint& print, std::size_t number, const TextRuler& ruler) {
  MadePage page{scan_page(print.heading, print.width, print.height, ruler), {}};
  const std::size_t first = number * print.per_page();
  const std::size_t end = std::min(first + print.per_page(), print.lines->size());
  for (std::size_t i = first; i < end; ++i) add_scan_line(page, print, i, ruler);
  add_rule(page.picture, kFirstLine + static_cast<double>(end - first) * kLineHeight, print.width);
  add_note(page.picture, note_text(print.heading, number, print.pages()), kSide, print.height - kFoot + 4,
           print.width - 2 * kSide, ruler);
  return page;
}

}  // namespace

PagePlan sheet_plan(const std::vector<Label>& labels, const SheetSpec& sheet, const SheetOptions& options,
                    const Design* design) {
  check_sheet(sheet, options);
  need_labels(labels, "label");
  check_design_size(design, {sheet.label_width, sheet.label_height});
  SheetPrint print{&labels, sheet, options, design, 0};
  print.pages = place_of(sheet, options, print.count() - 1).page + 1;
  PagePlan plan{"Labels, " + sheet.name, print.pages, print.count(), kPageDpi, {}, {}};
  if (options.note == SheetNote::margin && !has_note_margin(sheet)) {
    plan.warnings.push_back("The labels of " + sheet.name +
                            " leave no margin for the note “print at 100 %”: the file asks for it, and --note cell "
                            "prints it in place of the first label.");
  }
  plan.make = [print](std::size_t page, const TextRuler& ruler) { return make_sheet_page(print, page, ruler); };
  return plan;
}

PagePlan roll_plan(const std::vector<Label>& labels, LabelSize size, int dpi, int repeat, const Design* design) {
  need_labels(labels, "label");
  check_design_size(design, size);
  const auto copies = static_cast<std::size_t>(repeat);
  char title[64];
  std::snprintf(title, sizeof title, "Labels, %g x %g mm", size.width_mm, size.height_mm);
  PagePlan plan{title, labels.size() * copies, labels.size() * copies, dpi, {}, {}};
  plan.make = [&labels, size, dpi, copies, design](std::size_t page, const TextRuler& ruler) {
    const Label& label = labels[page / copies];
    LaidOutLabel laid_out = lay_out(label, design_or_built_in(design, label), size, {dpi}, ruler);
    MadePage made;
    made.warnings.add(label, laid_out);
    made.picture = std::move(laid_out.picture);
    return made;
  };
  return plan;
}

PagePlan scan_sheet_plan(const std::string& heading, const std::vector<Label>& lines, Paper paper) {
  need_labels(lines, "entry");
  const ScanPrint print{heading, &lines, paper == Paper::a4 ? 210 : 215.9, paper == Paper::a4 ? 297 : 279.4};
  PagePlan plan{heading, print.pages(), lines.size(), kPageDpi, {}, {}};
  plan.make = [print](std::size_t page, const TextRuler& ruler) { return make_scan_page(print, page, ruler); };
  return plan;
}

Pages all_pages(const PagePlan& plan, const TextRuler& ruler) {
  Pages pages;
  PrintWarnings warnings;
  for (std::size_t i = 0; i < plan.pages; ++i) {
    MadePage page = plan.make(i, ruler);
    warnings.add(page.warnings);
    pages.pictures.push_back(std::move(page.picture));
  }
  pages.warnings = warnings.texts();
  pages.warnings.insert(pages.warnings.end(), plan.warnings.begin(), plan.warnings.end());
  return pages;
}

Pages sheet_pages(const std::vector<Label>& labels, const SheetSpec& sheet, const SheetOptions& options,
                  const TextRuler& ruler) {
  return all_pages(sheet_plan(labels, sheet, options), ruler);
}

Pages scan_sheet_pages(const std::string& heading, const std::vector<Label>& lines, Paper paper,
                       const TextRuler& ruler) {
  return all_pages(scan_sheet_plan(heading, lines, paper), ruler);
}

}  // namespace rackside::labels
