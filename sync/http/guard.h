#pragma once

#include <span>
#include <string>
#include <string_view>
#include <variant>

#include "sync/http/head.h"
#include "sync/http/limits.h"
#include "sync/net/channel.h"

namespace rackside::sync::http {

/// The peer left, or was silent where it may be.
struct Gone {};

/// Stands between the network and the HTTP library on one connection: reads a request's head itself, judges it
/// (parse_head), then lets through exactly the body that the head announced. Counts every byte and holds every
/// deadline of `Limits`, whatever the peer does. Pipelined requests are kept apart by the same count.
/// Thread: one. The channel and the limits must outlive it.
class Guard {
 public:
  Guard(net::Channel& channel, const Limits& limits) : channel_(channel), limits_(limits) {}

  /// Reads the next head. `idle` is how long the peer may stay silent before its first byte.
  std::variant<Head, Refusal, Gone> next_head(net::Milliseconds idle);

  /// The body of the last head, at most as long as it announced. `closed` after its last byte, or where the peer broke
  /// off; `timed_out` once the time for the whole body is over.
  net::Transfer read_body(std::span<char> into);
  std::size_t unread_body() const { return unread_; }

  /// Writes a piece of the answer; false when the peer is gone or too slow.
  bool send(std::string_view data);

  /// Ends the connection so that the peer can still read the answer: says goodbye, then throws away what it still
  /// sends, for a second and 256 KiB at most. (Closing at once would reset the connection and lose the answer.)
  void end_gently();

  int fd() const { return channel_.fd(); }

 private:
  net::Transfer fill(net::Instant deadline);
  std::variant<Head, Refusal, Gone> finish_head(std::size_t size);

  net::Channel& channel_;
  const Limits& limits_;
  std::string pending_;  ///< read, not yet used; bounded by limits.head and one read
  std::size_t unread_ = 0;
  net::Instant body_deadline_{};
};

}  // namespace rackside::sync::http
