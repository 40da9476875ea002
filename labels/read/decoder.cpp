#include "labels/read/decoder.h"

// The one file that knows ZXing-cpp, and both its interfaces: 1.4 (Debian 12) and 2.x (Debian 13).
#define ZX_USE_UTF8 1
#include <ZXing/ReadBarcode.h>

#include <exception>

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
  options.setBinarizer(ZXing::Binarizer::LocalAverage);
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

}  // namespace rackside::labels
