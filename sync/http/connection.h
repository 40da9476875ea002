#pragma once

#include <atomic>

#include "sync/http/engine.h"
#include "sync/http/router.h"
#include "sync/http/server.h"
#include "sync/net/socket.h"

namespace rackside::sync::tls {
class ServerContext;
}

namespace rackside::sync::http {

/// What all connections of one server share.
struct ConnectionContext {
  const ServerOptions& options;
  const Router& router;
  Engine& engine;
  const std::atomic<bool>& stopping;
};

/// Serves one connection until either side ends it. `tls` null: plain.
void serve_connection(const ConnectionContext& context, net::Socket socket, const net::Address& peer,
                      const tls::ServerContext* tls);

}  // namespace rackside::sync::http
