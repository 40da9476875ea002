#include "labels/proof/proof.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "labels/read/decoder.h"

namespace rackside::labels {
namespace {

constexpr double kMmPerInch = 25.4;

/// The symbol with its quiet zone and half of that again: what intrudes there counts too.
GrayView cut_out(const PlacedSymbol& symbol, const GrayImage& raster, int dpi) {
  const Box box = symbol.box_with_quiet();
  const double more = symbol.module * 2;
  const double scale = dpi / kMmPerInch;
  const int left = std::clamp(static_cast<int>(std::floor((box.x - more) * scale)), 0, raster.width - 1);
  const int top = std::clamp(static_cast<int>(std::floor((box.y - more) * scale)), 0, raster.height - 1);
  const int right = std::clamp(static_cast<int>(std::ceil((box.right() + more) * scale)), left + 1, raster.width);
  const int bottom = std::clamp(static_cast<int>(std::ceil((box.bottom() + more) * scale)), top + 1, raster.height);
  return {raster, left, top, right - left, bottom - top};
}

std::vector<DecodedSymbol> read_back(const GrayView& view) {
  std::vector<DecodedSymbol> found = decode_symbols(view, Effort::plain);
  return found.empty() ? decode_symbols(view, Effort::thorough) : found;
}

}  // namespace

void prove(const Picture& page, const GrayImage& raster, int dpi, const std::string& where) {
  for (const PlacedSymbol* symbol : page.symbols()) {
    const auto found = read_back(cut_out(*symbol, raster, dpi));
    if (found.size() == 1 && found[0].text == symbol->payload) continue;
    const std::string what = found.empty() ? "does not read" : "reads as \"" + found[0].text + "\"";
    throw core::Error(core::Fault::nothing_read, "The label of " + symbol->name + " on " + where + " " + what +
                                                     " when it is read back, so nothing is printed. Choose a larger "
                                                     "label or a printer with more dots.");
  }
}

}  // namespace rackside::labels
