#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "sync/http/guard.h"
#include "sync/http/head.h"
#include "sync/http/message.h"

namespace rackside::sync::http {

/// The only use of cpp-httplib, and the one file that knows how its versions differ (0.11 in Debian 12, 0.18 in
/// Debian 13, 0.41 in its backports).
///
/// The guard has already read the request's head, so the library gets it replayed in a canonical form: method, "/",
/// length, persistence. No header of the peer's reaches its parser, and where a request ends is decided once. It then
/// reads the body through the guard and frames the answer. Rejected: handing it the channel with a counting stream
/// only. Its parser would then be a second opinion on where a hostile request ends (0.11 runs a smuggled request), and
/// the route, the token and the Host could only be checked after the body was read.
///
/// Thread: exchange() may run on many threads at once, each with its own guard.
class Engine {
 public:
  Engine();
  ~Engine();

  using Answer = std::function<Response(std::string body)>;
  using Report = std::function<void(std::string_view)>;

  /// Reads the body (none when `body` is skipped), asks for the answer and writes it. `answer` must not throw.
  /// Returns keep when the connection can carry another request.
  enum class Body { read, skip };
  Persistence exchange(Guard& guard, std::string_view method, Body body, Persistence persistence, const Answer& answer,
                       const Report& report);

  /// Makes running streams end, broken off, at their next piece.
  void shut_down();

 private:
  class Library;
  std::unique_ptr<Library> library_;
};

}  // namespace rackside::sync::http
