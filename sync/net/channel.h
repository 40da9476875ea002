#pragma once

#include <cstddef>
#include <memory>
#include <span>
#include <string_view>

#include "sync/net/socket.h"

namespace rackside::sync::net {

enum class Io { done, closed, timed_out, failed };

struct Transfer {
  Io end = Io::done;
  std::size_t bytes = 0;
};

/// The bytes of one connection, with or without TLS. Every call takes the instant at which it gives up, so that no peer
/// can hold a thread for longer. One thread at a time. A vanished peer is a value, never a signal or an exception.
class Channel {
 public:
  virtual ~Channel() = default;
  /// Reads 1 to `into.size()` bytes; none unless `end` is done.
  virtual Transfer read(std::span<char> into, Instant deadline) = 0;
  /// Writes all of `data`, or says how the connection ended.
  virtual Transfer write(std::string_view data, Instant deadline) = 0;
  /// Says goodbye: no more will be written. The peer may still send.
  virtual void finish(Instant deadline) = 0;
  virtual int fd() const = 0;
};

/// Without TLS. The socket must not block.
std::unique_ptr<Channel> plain_channel(Socket socket);

}  // namespace rackside::sync::net
