#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace rackside::sync::net {

using Clock = std::chrono::steady_clock;
using Instant = Clock::time_point;
using Milliseconds = std::chrono::milliseconds;

/// A file descriptor. Copies share it; it is closed with the last copy. (So the server can still shut a connection down
/// by its copy, and never a stranger's that got the same number.)
class Socket {
 public:
  Socket() = default;
  explicit Socket(int fd);
  int fd() const { return owner_ ? *owner_ : -1; }
  explicit operator bool() const { return owner_ != nullptr; }

 private:
  std::shared_ptr<const int> owner_;
};

/// One end of a connection, as text: "192.168.1.20", "fd00::5" (no brackets, no zone; IPv4 inside IPv6 is shown as
/// IPv4).
struct Address {
  std::string ip;
  int port = 0;
};

enum class Wait { readable, writable };

/// Waits until the descriptor is ready or broken (true), or until the deadline (false).
bool wait_for(int fd, Wait what, Instant deadline);

/// Opens a listening socket on a numeric address ("127.0.0.1", "0.0.0.0", "::" for both families); port 0 picks a free
/// one. Backlog 128, no SO_REUSEPORT: a second hub on the same port is an error, not a silent sharing.
/// Errors: bad_input (no numeric address), busy (port taken), unreachable (any other refusal of the system).
Socket listen_on(const std::string& address, int port);

/// The next connection, not blocking, with TCP_NODELAY; empty when there is none (or the peer went away again).
/// `out_of_files` is set when the process has no descriptor left.
std::optional<std::pair<Socket, Address>> accept_from(const Socket& listener, bool& out_of_files);

/// Connects, not blocking afterwards, with TCP_NODELAY. Tries every address of the name until the deadline.
/// Errors: unreachable, with the reason and what to check.
Socket connect_to(const std::string& host, int port, Instant deadline);

/// The address this end of the connection (or the listener) is bound to.
Address local_address(int fd);

/// True for 127.0.0.0/8 and ::1, written as numbers.
bool is_loopback(const std::string& ip);

/// True when the text is a numeric IPv4 or IPv6 address.
bool is_numeric_address(const std::string& text);

/// What a share of connections is counted by: the IPv4 address, or the /64 network of an IPv6 address (one machine
/// chooses its addresses freely within that).
std::string share_key(const std::string& ip);

}  // namespace rackside::sync::net
