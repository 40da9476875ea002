#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <variant>

#include "sync/net/socket.h"
#include "sync/tls/channel.h"

namespace rackside::sync::http {

/// "https://rack-1234abcd.local:8443" taken apart. A path, if any, is ignored.
struct Url {
  enum class Scheme { http, https } scheme = Scheme::https;
  std::string host;  ///< lower case, without brackets
  int port = 0;
};

/// Errors: bad_input. A text without "://" is taken as https. Default ports 443 and 80.
Url parse_url(std::string_view text);

/// Trust in nothing: for http:// on loopback only.
struct NoPin {};
using Trust = std::variant<NoPin, tls::PinnedAuthority, tls::PinnedFingerprint>;

struct Timeouts {
  net::Milliseconds connect{5'000};   ///< TCP and TLS
  net::Milliseconds send{60'000};     ///< a whole request
  net::Milliseconds silence{30'000};  ///< between two pieces of the answer
};

struct Reply {
  int status = 0;
  std::string content_type;
  std::string body;  ///< empty where the lines went to a callback
};

/// One line of a streamed answer, without its line feed.
using OnLine = std::function<void(std::string_view)>;

/// Talks to one hub, keeping the connection open between requests. Thread: one at a time. A kept connection that ends
/// before a byte of the answer came is taken for one that the hub closed while idle, and the request is sent once more:
/// so a request must be one that may arrive twice.
/// Says in each request that it takes gzip; sends longer bodies so once the hub has said that it takes it too.
/// Errors of every request: unreachable (no hub there, or it fell silent), other_hub (not the pinned one; nothing was
/// sent), protocol (an answer that breaks HTTP, or ended early), too_large (an answer or a line over its limit),
/// bad_input (http:// to another machine, https:// without a pin). A status of 400 or more is no error here: it is in
/// the reply, with the body as text.
class Client {
 public:
  Client(Url url, Trust trust, Timeouts timeouts = {});
  ~Client();
  Client(Client&&) noexcept;
  Client& operator=(Client&&) noexcept;

  /// Sent as "Authorization: Bearer …" from now on; never to a hub that is not the pinned one.
  void use_token(std::string token);

  /// `target` is the path and query, already encoded. Bodies of answers are limited to kMostBody.
  Reply get(const std::string& target);
  Reply post(const std::string& target, const std::string& content_type, std::string_view body);

  /// The same with an answer of any length: `on_line` gets each line of a 2xx answer as it comes, memory stays flat
  /// (a line: kMostLine). What `on_line` throws ends the request and reaches the caller.
  Reply get_lines(const std::string& target, const OnLine& on_line);
  Reply post_lines(const std::string& target, const std::string& content_type, std::string_view body,
                   const OnLine& on_line);

  /// Connects and verifies without sending a request; the pinned authority as PEM (empty for plain http).
  std::string authority_pem();

  static constexpr std::size_t kMostBody = 4 * 1024 * 1024;
  static constexpr std::size_t kMostLine = 1024 * 1024;

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rackside::sync::http
