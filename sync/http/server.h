#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sync/http/limits.h"
#include "sync/http/message.h"
#include "sync/http/policy.h"
#include "sync/tls/authority.h"

namespace rackside::sync::http {

struct RouteOptions {
  /// What the caller must be allowed to do, as the roles table names it; empty: open to everyone.
  std::string right = {};
  std::optional<std::size_t> body_limit = {};  ///< bytes; without it, Limits::body
};

/// The hub's decision about a caller, taken from the head alone, before a byte of the body is read.
struct Admission {
  std::optional<Response> refused;  ///< sent instead when set
  std::string device;               ///< given to the handler in the request
  std::string role;
};
using Admit = std::function<Admission(const Request& request_without_body, std::string_view right)>;

/// For the hub's own screen or journal, never for a client. Called from many threads.
using Report = std::function<void(std::string_view)>;

enum class Exposure {
  tls,             ///< everything, encrypted
  plain_loopback,  ///< everything, unencrypted; listens on loopback addresses only
  plain_page,      ///< unencrypted on any address, but only GET routes without a right: the page that hands out the
                   ///< authority and the steps to trust it
};

struct ServerOptions {
  Exposure exposure = Exposure::tls;
  /// Names the hub answers to in the Host header besides "localhost" and the address it is reached by; lower case.
  std::vector<std::string> names = {};
  Limits limits = {};
  std::string content_security_policy = std::string(kContentSecurityPolicy);
  Admit admit = {};    ///< needed as soon as a route names a right; without it such a route refuses everybody
  Report report = {};  ///< may be empty
};

/// An HTTP/1.1 server for hostile networks. One thread a connection (at most Limits::connections), so a slow peer holds
/// nothing but its own share and a live stream no worker of anybody else. Rejected: a pool of 64 threads, of which a
/// few addresses could hold all, and in which idle keep-alive connections of 100 phones wait for each other.
///
/// Handlers run on many threads at once. What they throw never reaches a client beyond a code and a safe text: the
/// message of a core::Error that is the client's own doing (status below 500), a fixed sentence otherwise; all of it
/// goes to `report`.
class Server {
 public:
  explicit Server(ServerOptions options);
  ~Server();  ///< stops
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

  /// Before listen(). `path` is matched whole, or as a beginning when it ends in "/*"; the longest match wins. A GET
  /// route serves HEAD too. Errors: internal (a route that this exposure must not have).
  void route(const std::string& method, const std::string& path, Handler handler, RouteOptions options = {});

  /// The certificates for new connections; needed before listen() with Exposure::tls, and again after a renewal.
  void use_identity(const tls::HubIdentity& identity);

  /// Starts to listen and returns; port 0 picks one. Errors: bad_input, busy, unreachable (see net::listen_on); usage
  /// (plain on an address that is not loopback; no identity).
  void listen(const std::string& address, int port);
  int bound_port() const;

  /// True once stop() was called: long streams end on it.
  bool stopping() const;
  void stop();  ///< ends every connection, waits for the handlers; from another thread than a handler's
  void wait();  ///< until stop() is done

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rackside::sync::http
