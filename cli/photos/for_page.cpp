#include "cli/photos/for_page.h"

#include <algorithm>

#include "cli/photos/worker.h"

namespace rackside::cli {
namespace {

/// As the page's table of texts calls it.
const char* word_of(labels::Unread why) {
  switch (why) {
    case labels::Unread::too_small:
      return "too_small";
    case labels::Unread::blurred:
      return "blurred";
    case labels::Unread::glare:
      return "glare";
    case labels::Unread::too_dark:
      return "too_dark";
    case labels::Unread::too_slanted:
      return "too_slanted";
    case labels::Unread::damaged:
      return "damaged";
  }
  return "damaged";
}

sync::hub::PictureFindings read(std::string_view bytes) {
  PictureWorker worker;
  const PictureOutcome outcome = worker.read_bytes(bytes, "The photo");
  if (!outcome.reading) throw core::Error(outcome.fault, outcome.message);
  sync::hub::PictureFindings found;
  for (const labels::ReadSymbol& symbol : outcome.reading->symbols) {
    if (!symbol.reading.code) continue;
    const std::string code = symbol.reading.code->str();
    if (std::find(found.codes.begin(), found.codes.end(), code) == found.codes.end()) found.codes.push_back(code);
  }
  found.foreign = outcome.reading->foreign;
  for (const labels::UnreadSpot& spot : outcome.reading->unread) ++found.unread[word_of(spot.why)];
  return found;
}

}  // namespace

sync::hub::PictureReader page_picture_reader() {
  return read;
}

}  // namespace rackside::cli
