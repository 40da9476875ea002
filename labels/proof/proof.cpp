#include "labels/proof/proof.h"

#include <time.h>

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "labels/draw/draw.h"
#include "labels/proof/wear.h"
#include "labels/read/decoder.h"
#include "labels/read/read.h"

namespace rackside::labels {
namespace {

constexpr double kMmPerInch = 25.4;
constexpr std::uint8_t kSmear = 50;  ///< dark grey

double thread_seconds() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) * 1e-9;
}

/// The symbol with its quiet zone and half of that again: what intrudes there counts too.
PixelPart part_around(const PlacedSymbol& symbol, int width, int height, int dpi) {
  const Box box = symbol.box_with_quiet();
  const double more = symbol.module * 2;
  const double scale = dpi / kMmPerInch;
  const int left = std::clamp(static_cast<int>(std::floor((box.x - more) * scale)), 0, width - 1);
  const int top = std::clamp(static_cast<int>(std::floor((box.y - more) * scale)), 0, height - 1);
  const int right = std::clamp(static_cast<int>(std::ceil((box.right() + more) * scale)), left + 1, width);
  const int bottom = std::clamp(static_cast<int>(std::ceil((box.bottom() + more) * scale)), top + 1, height);
  return {left, top, right - left, bottom - top};
}

GrayImage copy_of(const GrayImage& raster, const PixelPart& part) {
  GrayImage copy(part.width, part.height);
  for (int y = 0; y < part.height; ++y) {
    const std::uint8_t* row = raster.pixels.data() + raster.index(part.left, part.top + y);
    std::copy(row, row + part.width, copy.pixels.data() + copy.index(0, y));
  }
  return copy;
}

void smear(GrayImage& picture, const PixelPart& part, const PlacedSymbol& symbol, int dpi) {
  const double scale = dpi / kMmPerInch;
  const auto pixel = [&](double mm, int from, int most) {
    return std::clamp(static_cast<int>(std::lround(mm * scale)) - from, 0, most);
  };
  for (const auto& [column, row] : smeared_modules(symbol.symbol)) {
    const double x = symbol.x + column * symbol.module;
    const double y = symbol.y + row * symbol.module;
    const int right = pixel(x + symbol.module, part.left, picture.width);
    const int bottom = pixel(y + symbol.module, part.top, picture.height);
    for (int j = pixel(y, part.top, picture.height); j < bottom; ++j) {
      for (int i = pixel(x, part.left, picture.width); i < right; ++i)
        picture.at(i, j) = std::min(picture.at(i, j), kSmear);
    }
  }
}

std::vector<std::string> texts_of(const std::vector<DecodedSymbol>& symbols) {
  std::vector<std::string> texts;
  for (const DecodedSymbol& symbol : symbols) texts.push_back(symbol.text);
  return texts;
}

/// With the least that reads, from `least` on: the whole of our reader only where the decoder alone sees nothing.
std::vector<std::string> read_back(const GrayImage& picture, Effort least) {
  for (const Effort effort : {Effort::crisp, Effort::plain, Effort::thorough}) {
    if (effort < least) continue;
    const auto found = decode_symbols(picture, effort);
    if (!found.empty()) return texts_of(found);
  }
  std::vector<std::string> texts;
  for (const ReadSymbol& symbol : read_symbols(picture, {ReadScope::any}).symbols) texts.push_back(symbol.text);
  return texts;
}

void expect_reads(const GrayImage& picture, Effort least, const PlacedSymbol& symbol, const std::string& where,
                  const char* when) {
  const auto found = read_back(picture, least);
  if (found.size() == 1 && found[0] == symbol.payload) return;
  const std::string what = found.empty() ? "does not read" : "reads as \"" + found[0] + "\"";
  throw core::Error(core::Fault::nothing_read, "The label of " + symbol.name + " on " + where + " " + what + " " +
                                                   when +
                                                   ", so nothing is printed. Choose a larger label or a printer with "
                                                   "more dots.");
}

/// `picture` is the part as it is printed.
void prove_one(GrayImage picture, const PixelPart& part, const PlacedSymbol& symbol, int dpi,
               const std::string& where) {
  expect_reads(picture, Effort::crisp, symbol, where, "when it is read back");
  GrayImage worn = grown(picture, kPrintGrowth * symbol.module * dpi / kMmPerInch);
  smear(worn, part, symbol, dpi);
  expect_reads(worn, Effort::plain, symbol, where, "once print has spread and a thumb has smeared it");
}

}  // namespace

void prove(const Picture& page, const GrayImage& raster, int dpi, const std::string& where) {
  for (const PlacedSymbol* symbol : page.symbols()) {
    const PixelPart part = part_around(*symbol, raster.width, raster.height, dpi);
    prove_one(copy_of(raster, part), part, *symbol, dpi, where);
  }
}

ProofCost prove_drawn(const Picture& page, int dpi, const std::string& where) {
  ProofCost cost;
  const auto [width, height] = pixels_of(page, dpi);
  for (const PlacedSymbol* symbol : page.symbols()) {
    const double begin = thread_seconds();
    const PixelPart part = part_around(*symbol, width, height, dpi);
    GrayImage drawn = draw_gray_part(page, dpi, part);
    const double middle = thread_seconds();
    prove_one(std::move(drawn), part, *symbol, dpi, where);
    cost.draw_seconds += middle - begin;
    cost.read_seconds += thread_seconds() - middle;
  }
  return cost;
}

}  // namespace rackside::labels
