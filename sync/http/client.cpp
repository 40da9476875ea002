#include "sync/http/client.h"

#include <optional>

#include "core/base/error.h"
#include "sync/coding/gzip.h"
#include "sync/http/reply_reader.h"

namespace rackside::sync::http {
namespace {

using core::Error;
using core::Fault;
using net::Clock;

/// Shorter, it is one packet anyway.
constexpr std::size_t kWorthCompressing = 2048;

[[noreturn]] void bad_url(std::string_view text, const std::string& why) {
  throw Error(Fault::bad_input, "\"" + std::string(text) + "\" is not a hub's address: " + why +
                                    ". It looks like https://rack-1234abcd.local:8443");
}

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return out;
}

int read_port(std::string_view whole, std::string_view text) {
  int out = 0;
  for (const char c : text) {
    if (c < '0' || c > '9' || out > 65535) bad_url(whole, "the port is not a number");
    out = out * 10 + (c - '0');
  }
  if (out < 1 || out > 65535) bad_url(whole, "the port is not a number from 1 to 65535");
  return out;
}

/// Splits "host:port" and "[::1]:port".
void read_authority(std::string_view whole, std::string_view text, Url& out) {
  std::string_view after;
  if (text.starts_with('[')) {
    const std::size_t end = text.find(']');
    if (end == text.npos) bad_url(whole, "a bracket is not closed");
    out.host = lower(text.substr(1, end - 1));
    after = text.substr(end + 1);
  } else {
    const std::size_t colon = std::min(text.find(':'), text.size());
    out.host = lower(text.substr(0, colon));
    after = text.substr(colon);
  }
  if (out.host.empty()) bad_url(whole, "it has no name");
  if (!after.empty() && after.front() != ':') bad_url(whole, "something follows the bracket");
  if (!after.empty()) out.port = read_port(whole, after.substr(1));
}

/// Cuts pieces into lines; a line over the limit is an error.
class LineCutter {
 public:
  explicit LineCutter(const OnLine& on_line) : on_line_(on_line) {}

  void take(std::string_view piece) {
    for (std::size_t end = piece.find('\n'); end != piece.npos; end = piece.find('\n')) {
      give(piece.substr(0, end));
      piece.remove_prefix(end + 1);
    }
    hold(piece);
  }

  void finish() {
    if (!held_.empty()) give({});
  }

 private:
  void give(std::string_view end) {
    if (held_.empty()) return on_line_(end);
    hold(end);
    on_line_(held_);
    held_.clear();
  }

  void hold(std::string_view piece) {
    if (held_.size() + piece.size() > Client::kMostLine)
      throw Error(Fault::too_large, "The hub sent a line of over a megabyte. Is it a newer program?");
    held_.append(piece);
  }

  const OnLine& on_line_;
  std::string held_;
};

}  // namespace

Url parse_url(std::string_view text) {
  Url out;
  std::string_view rest = text;
  if (const std::size_t mark = text.find("://"); mark != text.npos) {
    const std::string scheme = lower(text.substr(0, mark));
    if (scheme != "http" && scheme != "https") bad_url(text, "it starts with " + scheme);
    out.scheme = scheme == "http" ? Url::Scheme::http : Url::Scheme::https;
    rest = text.substr(mark + 3);
  }
  out.port = out.scheme == Url::Scheme::http ? 80 : 443;
  read_authority(text, rest.substr(0, rest.find('/')), out);
  return out;
}

class Client::Impl {
 public:
  Impl(Url url, Trust trust, Timeouts timeouts) : url_(std::move(url)), trust_(std::move(trust)), timeouts_(timeouts) {
    const bool pinned = !std::holds_alternative<NoPin>(trust_);
    if (url_.scheme == Url::Scheme::https && !pinned)
      throw Error(Fault::bad_input, "This hub's authority is not known yet. Join it first, with a join code.");
    if (url_.scheme == Url::Scheme::http && !net::is_loopback(url_.host) && url_.host != "localhost")
      throw Error(Fault::bad_input, "Without encryption only this machine is spoken to, not " + url_.host +
                                        ". Use the hub's https:// address.");
  }

  void use_token(std::string token) { token_ = std::move(token); }

  Reply post(const std::string& target, const std::string& content_type, std::string_view body, const OnLine* on_line) {
    std::string packed;
    const bool pack = hub_takes_gzip_ && body.size() >= kWorthCompressing;
    if (pack) packed = coding::gzip(body);
    const std::string_view sent = pack ? std::string_view(packed) : body;
    const std::string fields = "Content-Type: " + content_type + "\r\nContent-Length: " + std::to_string(sent.size()) +
                               "\r\n" + (pack ? "Content-Encoding: gzip\r\n" : "");
    return exchange(head("POST", target, fields), sent, on_line);
  }

  Reply exchange(const std::string& request_head, std::string_view body, const OnLine* on_line) {
    for (;;) {
      const bool kept = channel_ != nullptr;
      try {
        return try_exchange(request_head, body, on_line);
      } catch (const StaleConnection&) {
        close();
        if (!kept) gone_early();  // else the hub ended it while it was idle: once more on a new one
      } catch (...) {
        close();
        throw;
      }
    }
  }

  std::string head(std::string_view method, const std::string& target, std::string_view extra) const {
    std::string out = std::string(method) + " " + target + " HTTP/1.1\r\nHost: " + host_field() + "\r\n";
    out += "Accept-Encoding: gzip\r\n";
    if (!token_.empty()) out += "Authorization: Bearer " + token_ + "\r\n";
    return out + std::string(extra) + "\r\n";
  }

  std::string authority() {
    open();
    return authority_;
  }

 private:
  /// A connection that ended before a byte of an answer came.
  struct StaleConnection {};

  [[noreturn]] static void gone_early() {
    throw Error(Fault::unreachable, "The hub ended the connection without an answer. Is it shutting down? Try again.");
  }

  std::string host_field() const {
    const std::string host = url_.host.find(':') == std::string::npos ? url_.host : "[" + url_.host + "]";
    const int usual = url_.scheme == Url::Scheme::http ? 80 : 443;
    return url_.port == usual ? host : host + ":" + std::to_string(url_.port);
  }

  void close() {
    reader_.reset();
    channel_.reset();
  }

  void open() {
    if (channel_) return;
    const net::Instant deadline = Clock::now() + timeouts_.connect;
    net::Socket socket = net::connect_to(url_.host, url_.port, deadline);
    if (url_.scheme == Url::Scheme::http)
      channel_ = net::plain_channel(std::move(socket));
    else
      secure(std::move(socket), deadline);
    reader_.emplace(*channel_, timeouts_.silence);
  }

  void secure(net::Socket socket, net::Instant deadline) {
    const auto* whole = std::get_if<tls::PinnedAuthority>(&trust_);
    const tls::Pin pin = whole ? tls::Pin(*whole) : tls::Pin(std::get<tls::PinnedFingerprint>(trust_));
    tls::Trusted trusted = tls::connect(std::move(socket), url_.host, pin, deadline);
    channel_ = std::move(trusted.channel);
    authority_ = std::move(trusted.authority_pem);
  }

  void send(std::string_view data) {
    const net::Transfer sent = channel_->write(data, Clock::now() + timeouts_.send);
    if (sent.end == net::Io::timed_out)
      throw Error(Fault::unreachable,
                  "The hub takes what is sent too slowly. Move closer to the network and try again.");
    // A hub that refuses a body answers and hangs up: the answer, read next, says more than the broken pipe.
  }

  ReplyHead read_head() {
    try {
      return reader_->head();
    } catch (const Error& fault) {
      if (fault.fault() == Fault::protocol && reader_->nothing_came()) throw StaleConnection{};
      throw;
    }
  }

  Reply try_exchange(const std::string& request_head, std::string_view body, const OnLine* on_line) {
    open();
    if (body.size() <= 16 * 1024) {
      send(request_head + std::string(body));  // one packet
    } else {
      send(request_head);
      send(body);
    }
    const ReplyHead head = read_head();
    if (coding::takes_gzip(head.field("accept-encoding"))) hub_takes_gzip_ = true;
    Reply out{head.status, std::string(head.field("content-type")), ""};
    const bool as_lines = on_line != nullptr && head.status >= 200 && head.status < 300;
    read_body(head, as_lines ? on_line : nullptr, out.body);
    if (!reader_->reusable()) close();
    return out;
  }

  void read_body(const ReplyHead& head, const OnLine* on_line, std::string& whole) {
    if (on_line != nullptr) {
      LineCutter cutter(*on_line);
      read_decoded(head, [&](std::string_view piece) { cutter.take(piece); });
      return cutter.finish();
    }
    read_decoded(head, [&](std::string_view piece) {
      if (whole.size() + piece.size() > kMostBody) throw Error(Fault::too_large, "The hub's answer is too large.");
      whole.append(piece);
    });
  }

  void read_decoded(const ReplyHead& head, const ReplyReader::OnPiece& on_piece) {
    const std::string coding = lower(head.field("content-encoding"));
    if (coding.empty() || coding == "identity") return reader_->body(head, on_piece);
    if (coding != "gzip") throw Error(Fault::protocol, "The hub's answer is compressed in a way nobody asked for.");
    coding::GzipReader gzip;
    reader_->body(head, [&](std::string_view piece) { gzip.take(piece, on_piece); });
    gzip.finish();
  }

  Url url_;
  Trust trust_;
  Timeouts timeouts_;
  bool hub_takes_gzip_ = false;  ///< its answers said so
  std::string token_;
  std::string authority_;
  std::unique_ptr<net::Channel> channel_;
  std::optional<ReplyReader> reader_;
};

Client::Client(Url url, Trust trust, Timeouts timeouts)
    : impl_(std::make_unique<Impl>(std::move(url), std::move(trust), timeouts)) {}
Client::~Client() = default;
Client::Client(Client&&) noexcept = default;
Client& Client::operator=(Client&&) noexcept = default;

void Client::use_token(std::string token) {
  impl_->use_token(std::move(token));
}

Reply Client::get(const std::string& target) {
  return impl_->exchange(impl_->head("GET", target, ""), "", nullptr);
}

Reply Client::post(const std::string& target, const std::string& content_type, std::string_view body) {
  return impl_->post(target, content_type, body, nullptr);
}

Reply Client::get_lines(const std::string& target, const OnLine& on_line) {
  return impl_->exchange(impl_->head("GET", target, ""), "", &on_line);
}

Reply Client::post_lines(const std::string& target, const std::string& content_type, std::string_view body,
                         const OnLine& on_line) {
  return impl_->post(target, content_type, body, &on_line);
}

std::string Client::authority_pem() {
  return impl_->authority();
}

}  // namespace rackside::sync::http
