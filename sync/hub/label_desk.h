#pragma once

#include <mutex>

#include "sync/http/message.h"
#include "sync/hub/services.h"

namespace rackside::sync::hub {

/// Prints labels for keepers' pages, one print at a time: drawing and proving keep a core busy. Thread: safe.
/// Source: sync/PROTOCOL.md, section 11.
class LabelDesk {
 public:
  explicit LabelDesk(LabelPrinter printer) : printer_(std::move(printer)) {}
  http::Response offer() const;
  /// Errors: those of LabelPrinter; usage where the hub was given none.
  LabelPages print(core::Book& book, const LabelWish& wish, std::int64_t now_ms);

 private:
  LabelPrinter printer_;
  std::mutex printing_;
};

/// Reads the wish. Errors: bad_code.
LabelWish wish_of(const core::Value& asked);
/// The PDF, with what the print came to in a header.
http::Response pages_response(LabelPages pages);

}  // namespace rackside::sync::hub
