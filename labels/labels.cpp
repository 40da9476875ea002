#include "labels/labels.h"

#include "core/base/error.h"
#include "labels/draw/draw.h"
#include "labels/draw/text.h"
#include "labels/image/png.h"
#include "labels/proof/proof.h"
#include "labels/sheet/warnings.h"

namespace rackside::labels {
namespace {

using core::Error;
using core::Fault;

/// Proven on the raster that is handed over, or from which a desk printer's differs by its own dots only.
Printed proven_label(const LaidOutLabel& laid_out, const Label& label, const GrayImage& raster, int dpi) {
  prove(laid_out.picture, raster, dpi, "the picture");
  PrintWarnings warnings;
  warnings.add(label, laid_out);
  return {{}, 1, {label.payload}, warnings.texts(), laid_out.module_mm};
}

const Design& design_or_built_in(const Design* design, const Label& label) {
  return design != nullptr ? *design : built_in_design(label.kind);
}

}  // namespace

void check_label_size(LabelSize size, int dpi) {
  const bool sane = size.width_mm >= 5 && size.height_mm >= 5 && size.width_mm <= 300 && size.height_mm <= 300;
  if (!sane) throw Error(Fault::usage, "A label measures 5 to 300 mm each way.");
  if (dpi < 100 || dpi > 1200)
    throw Error(Fault::usage, "A printer has 100 to 1200 dpi; most label printers 203 or 300.");
}

Printed print_plan(const PagePlan& plan) {
  Printed printed;
  PressReport report = print_pdf(plan, [&](std::string_view bytes) { printed.bytes += bytes; });
  printed.pages = report.pages;
  printed.proven = std::move(report.proven);
  printed.warnings = std::move(report.warnings);
  printed.module_mm = report.smallest_module_mm;
  return printed;
}

Printed print_sheet(const std::vector<Label>& labels, const SheetSpec& sheet, const SheetOptions& options) {
  return print_plan(sheet_plan(labels, sheet, options));
}

Printed print_scan_sheet(const std::string& heading, const std::vector<Label>& lines, Paper paper) {
  return print_plan(scan_sheet_plan(heading, lines, paper));
}

Printed print_label_png(const Label& label, LabelSize size, int dpi, const Design* design) {
  check_label_size(size, dpi);
  const LaidOutLabel laid_out = lay_out(label, design_or_built_in(design, label), size, {dpi}, PangoRuler());
  const GrayImage raster = draw_one_bit(laid_out.picture, dpi);
  Printed printed = proven_label(laid_out, label, raster, dpi);
  printed.bytes = write_png_one_bit(raster, dpi);
  return printed;
}

Preview preview_label(const Label& label, LabelSize size, int dpi, const Design* design) {
  check_label_size(size, dpi);
  const LaidOutLabel laid_out = lay_out(label, design_or_built_in(design, label), size, {dpi}, PangoRuler());
  GrayImage raster = draw_gray(laid_out.picture, dpi);
  Printed proven = proven_label(laid_out, label, raster, dpi);
  return {std::move(raster), std::move(proven.warnings), laid_out.module_mm};
}

std::string png_of(const GrayImage& picture, int dpi) {
  return write_png_gray(picture, dpi);
}

Printed print_label_svg(const Label& label, LabelSize size, const Design* design) {
  check_label_size(size, kPageDpi);
  const LaidOutLabel laid_out = lay_out(label, design_or_built_in(design, label), size, {kPageDpi}, PangoRuler());
  Printed printed = proven_label(laid_out, label, draw_gray(laid_out.picture, kPageDpi), kPageDpi);
  printed.bytes = draw_svg(laid_out.picture);
  return printed;
}

}  // namespace rackside::labels
