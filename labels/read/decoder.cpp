#include "labels/read/decoder.h"

// The one file that knows ZXing-cpp, and both its interfaces: 1.4 (Debian 12) and 2.x (Debian 13).
#define ZX_USE_UTF8 1
#include <ZXing/ReadBarcode.h>

#include <exception>

#include "labels/read/pattern.h"

namespace rackside::labels {
namespace {

#if __has_include(<ZXing/ReaderOptions.h>)
using Options = ZXing::ReaderOptions;
void set_newer(Options& options, Effort effort) {
  options.setTryInvert(effort == Effort::thorough);
}
#else
using Options = ZXing::DecodeHints;
void set_newer(Options&, Effort) {}
#endif

Options options_for(Effort effort) {
  const bool thorough = effort == Effort::thorough;
  Options options;
  // QR only: the other symbologies of 1.4 lack fixes for reads out of bounds, and we print none of them.
  options.setFormats(ZXing::BarcodeFormat::QRCode);
  options.setTryHarder(true);
  options.setTryRotate(thorough);
  options.setTryDownscale(thorough);
  options.setBinarizer(effort == Effort::crisp ? ZXing::Binarizer::FixedThreshold : ZXing::Binarizer::LocalAverage);
  options.setMaxNumberOfSymbols(255);
  set_newer(options, effort);
  return options;
}

template <class Result>
DecodedSymbol to_decoded(const Result& result) {
  DecodedSymbol decoded{result.text(), {}};
  const auto& position = result.position();
  for (int i = 0; i < 4; ++i) {
    decoded.corners[static_cast<std::size_t>(i)] = {static_cast<double>(position[i].x),
                                                    static_cast<double>(position[i].y)};
  }
  return decoded;
}

}  // namespace

std::vector<DecodedSymbol> decode_symbols(const GrayView& view, Effort effort) {
  std::vector<DecodedSymbol> found;
  if (view.width < 21 || view.height < 21) return found;
  try {
    const ZXing::ImageView image(view.pixels, view.width, view.height, ZXing::ImageFormat::Lum, view.stride);
    for (const auto& result : ZXing::ReadBarcodes(image, options_for(effort))) {
      if (result.isValid()) found.push_back(to_decoded(result));
    }
  } catch (const std::exception&) {
    // The library uses exceptions for "not found" in places; a view without a symbol is no fault.
  }
  return found;
}

std::optional<std::string> decode_modules(const std::vector<std::uint8_t>& modules, int size) {
  constexpr int kQuiet = 2;
  constexpr int kScale = 2;
  const KnownPattern& known = known_pattern(size);
  GrayImage image((size + 2 * kQuiet) * kScale, (size + 2 * kQuiet) * kScale);
  for (int row = 0; row < size; ++row) {
    for (int column = 0; column < size; ++column) {
      const auto i = static_cast<std::size_t>(row * size + column);
      const bool dark = known.modules[i] != 0 ? known.modules[i] < 0 : modules[i] != 0;
      if (!dark) continue;
      for (int y = 0; y < kScale; ++y) {
        for (int x = 0; x < kScale; ++x) image.at((column + kQuiet) * kScale + x, (row + kQuiet) * kScale + y) = 0;
      }
    }
  }
  try {
    Options options;
    options.setFormats(ZXing::BarcodeFormat::QRCode);
    options.setIsPure(true);
    options.setTryHarder(false);
    options.setTryRotate(false);
    options.setTryDownscale(false);
    options.setBinarizer(ZXing::Binarizer::FixedThreshold);
    options.setMaxNumberOfSymbols(1);
    const ZXing::ImageView view(image.pixels.data(), image.width, image.height, ZXing::ImageFormat::Lum);
    for (const auto& result : ZXing::ReadBarcodes(view, options)) {
      if (result.isValid()) return result.text();
    }
  } catch (const std::exception&) {
    // As above.
  }
  return std::nullopt;
}

}  // namespace rackside::labels
