#pragma once

#include <cstddef>
#include <thread>

#include "sync/net/socket.h"

namespace rackside::tests {

/// What is cut: what the leader of an exchange says, or what it is answered.
enum class Said { asked, answered };

/// Carries bytes between two connected descriptors both ways and hangs up on both sides once so many bytes of one
/// direction are through, or one side hung up. Returns how many bytes of that direction it carried. Closes both.
std::size_t carry(int leader, int other, Said cut, std::size_t most);

/// A pair of descriptors with such a way between them, carried by a thread of its own.
class CutPipe {
 public:
  CutPipe(Said cut, std::size_t most);
  ~CutPipe() { end(); }
  int leader = -1;  ///< the caller closes both
  int other = -1;
  /// Waits for the end of the way, which comes when either end is closed. The bytes carried of the direction cut.
  std::size_t end();

 private:
  std::thread thread_;
  std::size_t carried_ = 0;
};

/// A port of this machine behind which such a way leads to another port. Only the first connection is carried; later
/// ones are closed at once.
class CutPort {
 public:
  CutPort(int target, Said cut, std::size_t most);
  ~CutPort() { end(); }
  int port() const { return port_; }
  std::size_t end();

 private:
  void run(int target, Said cut, std::size_t most);

  sync::net::Socket listener_;
  int port_ = 0;
  int wake_read_ = -1;
  int wake_write_ = -1;
  std::thread thread_;
  std::size_t carried_ = 0;
};

}  // namespace rackside::tests
