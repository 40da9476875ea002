#pragma once

#include <memory>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "core/base/bytes.h"
#include "sync/net/channel.h"
#include "sync/tls/authority.h"

namespace rackside::sync::tls {

/// The hub's side of TLS 1.2 and 1.3. Copies share one context; safe from several threads.
class ServerContext {
 public:
  /// Errors: bad_input (the identity's parts do not fit).
  explicit ServerContext(const HubIdentity& identity);
  /// Shakes hands until the deadline; empty when the peer does not manage (no TLS, too slow, gone).
  std::unique_ptr<net::Channel> accept(net::Socket socket, net::Instant deadline) const;

 private:
  std::shared_ptr<void> context_;
};

/// Trust in exactly one authority, given whole.
struct PinnedAuthority {
  std::string pem;
};

/// Trust in the authority whose SHA-256 fingerprint begins with these bytes (10 or more), as a join code carries it.
struct PinnedFingerprint {
  std::vector<std::uint8_t> prefix;
};

using Pin = std::variant<PinnedAuthority, PinnedFingerprint>;

struct Trusted {
  std::unique_ptr<net::Channel> channel;
  std::string authority_pem;  ///< of the authority that was found behind the pin: store it and pin it from now on
};

/// The client's side. The hub's chain is verified up to the pinned authority and to nothing else, before a single byte
/// of the caller's goes out. The host name is not compared: an authority serves one hub only, so its name adds nothing,
/// and a hub whose router gave it a new number stays reachable. Nor are periods of validity: a laptop whose clock is
/// wrong must still be able to sync, and whoever holds an old leaf's key holds the hub.
/// Shape:  `server_name` is sent in the handshake unless it is a number.
/// Errors: other_hub (another authority, or a chain that does not verify), unreachable (no TLS, too slow, gone).
Trusted connect(net::Socket socket, const std::string& server_name, const Pin& pin, net::Instant deadline);

}  // namespace rackside::sync::tls
