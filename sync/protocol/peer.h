#pragma once

#include <string>

#include "sync/protocol/stream.h"
#include "sync/protocol/vector.h"

namespace rackside::sync {

/// What a push was answered with: sent only after the events are durable.
struct Receipt {
  std::size_t stored = 0;
  std::size_t known = 0;
  std::vector<core::DeviceId> forked;
};
std::string to_text(const Receipt& receipt);
/// Errors: protocol; the Error that an error line states.
Receipt receipt_from_text(std::string_view text);

/// The other book of an exchange, wherever it is: in this process, behind a pipe, behind a hub. One round trip a call.
/// Errors of every call: those of the way there, and whatever the other book refuses.
class Peer {
 public:
  virtual ~Peer() = default;
  virtual VectorMessage heads(const VectorMessage& mine) = 0;
  virtual VectorMessage ladders(const VectorMessage& asked) = 0;
  /// Hands every line of the stream to `reader`.
  virtual void pull(const VectorMessage& mine, StreamReader& reader) = 0;
  /// `body` is one whole stream, at most kBatchBytes unless one segment alone is larger.
  virtual Receipt push(const std::string& body) = 0;
};

}  // namespace rackside::sync
