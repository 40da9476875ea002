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

void prove_into(Printed& printed, const Picture& page, const GrayImage& raster, int dpi, const std::string& where) {
  prove(page, raster, dpi, where);
  for (const PlacedSymbol* symbol : page.symbols()) printed.proven.push_back(symbol->payload);
}

Printed print_pages(const Pages& pages, const std::string& title) {
  Printed printed;
  printed.pages = pages.pictures.size();
  printed.warnings = pages.warnings;
  for (std::size_t i = 0; i < pages.pictures.size(); ++i) {
    const Picture& page = pages.pictures[i];
    prove_into(printed, page, draw_gray(page, kPageDpi), kPageDpi, "page " + std::to_string(i + 1));
  }
  printed.bytes = draw_pdf(pages.pictures, title);
  return printed;
}

std::vector<std::string> warnings_for(const Label& label, const LaidOutLabel& laid_out) {
  PrintWarnings warnings;
  warnings.add(label, laid_out);
  return warnings.texts();
}

void check_size(LabelSize size, int dpi) {
  const bool sane = size.width_mm >= 5 && size.height_mm >= 5 && size.width_mm <= 500 && size.height_mm <= 500;
  if (!sane) throw Error(Fault::usage, "A label measures 5 to 500 mm each way.");
  if (dpi < 100 || dpi > 1200)
    throw Error(Fault::usage, "A printer has 100 to 1200 dpi; most label printers 203 or 300.");
}

}  // namespace

Printed print_sheet(const std::vector<Label>& labels, const SheetSpec& sheet, const SheetOptions& options) {
  return print_pages(sheet_pages(labels, sheet, options, PangoRuler()), "Labels, " + sheet.name);
}

Printed print_scan_sheet(const std::string& heading, const std::vector<Label>& lines, Paper paper) {
  return print_pages(scan_sheet_pages(heading, lines, paper, PangoRuler()), heading);
}

Printed print_label_png(const Label& label, LabelSize size, int dpi) {
  check_size(size, dpi);
  const LaidOutLabel laid_out = lay_out(label, size, {dpi}, PangoRuler());
  const GrayImage raster = draw_one_bit(laid_out.picture, dpi);
  Printed printed;
  printed.warnings = warnings_for(label, laid_out);
  prove_into(printed, laid_out.picture, raster, dpi, "the picture");
  printed.bytes = write_png_one_bit(raster, dpi);
  return printed;
}

Printed print_label_svg(const Label& label, LabelSize size) {
  check_size(size, kPageDpi);
  const LaidOutLabel laid_out = lay_out(label, size, {kPageDpi}, PangoRuler());
  Printed printed;
  printed.warnings = warnings_for(label, laid_out);
  prove_into(printed, laid_out.picture, draw_gray(laid_out.picture, kPageDpi), kPageDpi, "the picture");
  printed.bytes = draw_svg(laid_out.picture);
  return printed;
}

}  // namespace rackside::labels
