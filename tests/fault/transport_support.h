#pragma once

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <sys/socket.h>

#include <array>
#include <atomic>
#include <chrono>
#include <fstream>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/error.h"
#include "sync/http/client.h"
#include "sync/http/server.h"
#include "sync/net/channel.h"
#include "sync/net/socket.h"
#include "sync/tls/authority.h"

namespace rackside::tests {

using std::chrono_literals::operator""ms;
using std::chrono_literals::operator""s;
using sync::net::Clock;

inline std::int64_t wall_clock_ms() {
  return std::chrono::duration_cast<std::chrono::milliseconds>(std::chrono::system_clock::now().time_since_epoch())
      .count();
}

/// Short times, so that the tests of slow peers are quick.
inline sync::http::Limits quick_limits() {
  sync::http::Limits out;
  out.handshake = 400ms;
  out.keep_alive = 300ms;
  out.head_time = 400ms;
  out.body_time = 600ms;
  out.write_time = 600ms;
  return out;
}

/// A hub on 127.0.0.1 with a few routes, and what happened there.
class TestHub {
 public:
  explicit TestHub(sync::http::Exposure exposure = sync::http::Exposure::plain_loopback,
                   sync::http::Limits limits = quick_limits(), const sync::tls::HubIdentity* identity = nullptr)
      : server_(options(exposure, limits)) {
    if (identity != nullptr) server_.use_identity(*identity);
    add_routes();
    server_.listen("127.0.0.1", 0);
  }

  int port() const { return server_.bound_port(); }
  sync::http::Server& server() { return server_; }
  int echoed() const { return echoed_; }
  std::size_t received() const { return received_; }

  std::vector<std::string> reports() const {
    const std::lock_guard lock(mutex_);
    return reports_;
  }

 private:
  sync::http::ServerOptions options(sync::http::Exposure exposure, const sync::http::Limits& limits) {
    sync::http::ServerOptions out;
    out.exposure = exposure;
    out.names = {"rack-test.local"};
    out.limits = limits;
    out.report = [this](std::string_view text) {
      const std::lock_guard lock(mutex_);
      reports_.emplace_back(text);
    };
    out.admit = [](const sync::http::Request& request, std::string_view right) {
      if (request.token == "good-token" && right == "push") return sync::http::Admission{{}, "aisle", "helper"};
      return sync::http::Admission{sync::http::error_response(401, "not-allowed", "Join first."), "", ""};
    };
    return out;
  }

  void add_routes() {
    using sync::http::Request;
    using sync::http::Response;
    server_.route("GET", "/hello", [](const Request& request) {
      Response out;
      out.body = "{\"hello\":" + sync::http::json_string(request.parameter("name").value_or("nobody")) + "}";
      return out;
    });
    server_.route("POST", "/echo", [this](const Request& request) {
      ++echoed_;
      received_ += request.body.size();
      Response out;
      out.content_type = "text/plain";
      out.body = request.body;
      return out;
    });
    server_.route("POST", "/push",
                  [](const Request& request) {
                    Response out;
                    out.body = request.device + "/" + request.role + "/" + std::to_string(request.body.size());
                    return out;
                  },
                  {.right = "push", .body_limit = 1000});
    server_.route("GET", "/who", [](const Request& request) {
      Response out;
      out.body = request.remote_ip;
      return out;
    });
    server_.route("GET", "/throw", [](const Request&) -> Response { throw std::runtime_error("secret /home/path"); });
    server_.route("GET", "/fault", [](const Request&) -> Response {
      throw core::Error(core::Fault::unknown_code, "Nothing here has that code.");
    });
    server_.route("GET", "/disk", [](const Request&) -> Response {
      throw core::Error(core::Fault::disk_fault, "secret /home/path cannot be written");
    });
    server_.route("GET", "/lines", [](const Request& request) { return lines(request); });
    server_.route("GET", "/gaps", [](const Request&) {
      Response out;
      out.stream = [step = 0](const sync::http::Sink& sink) mutable {
        ++step;
        return sink(step % 2 == 0 ? "" : "a line\n") && step < 5;
      };
      return out;
    });
    server_.route("GET", "/broken", [](const Request&) {
      Response out;
      out.stream = [sent = 0](const sync::http::Sink& sink) mutable {
        if (++sent == 3) throw std::runtime_error("secret");
        return sink("a line\n");
      };
      return out;
    });
  }

  static sync::http::Response lines(const sync::http::Request& request) {
    const int count = std::stoi(request.parameter("count").value_or("3"));
    sync::http::Response out;
    out.content_type = "application/x-ndjson";
    out.stream = [count, next = 0](const sync::http::Sink& sink) mutable {
      std::string piece;
      for (int i = 0; i < 500 && next < count; ++i) piece += "{\"line\":" + std::to_string(next++) + "}\n";
      return sink(piece) && next < count;
    };
    return out;
  }

  mutable std::mutex mutex_;
  std::vector<std::string> reports_;
  std::atomic<int> echoed_ = 0;
  std::atomic<std::size_t> received_ = 0;
  sync::http::Server server_;  // last: it is stopped before what its handlers use goes away
};

/// A hostile or clumsy client: bytes on a plain socket.
class Raw {
 public:
  /// `from` is the loopback address it comes from: all of 127.0.0.0/8 is this machine.
  explicit Raw(int port, const std::string& from = "127.0.0.1")
      : channel_(sync::net::plain_channel(connect_from(from, port))) {}

  /// False when the hub does not take it any more.
  bool send(std::string_view text) { return channel_->write(text, Clock::now() + 2s).end == sync::net::Io::done; }

  /// Everything until the hub ends the connection; at most `patience`.
  std::string read_to_end(sync::net::Milliseconds patience = 5000ms) {
    const auto deadline = Clock::now() + patience;
    std::string out;
    std::array<char, 4096> piece;
    for (;;) {
      const auto got = channel_->read(piece, deadline);
      out.append(piece.data(), got.bytes);
      ended_ = got.end == sync::net::Io::closed || got.end == sync::net::Io::failed;
      reset_ = got.end == sync::net::Io::failed;
      if (got.end != sync::net::Io::done) return out;
    }
  }

  /// One answer that has a Content-Length, leaving the connection open.
  std::string read_answer() {
    std::string out;
    std::array<char, 1> piece;
    std::size_t wanted = std::string::npos;
    while (out.size() < wanted) {
      const auto got = channel_->read(piece, Clock::now() + 5s);
      if (got.end != sync::net::Io::done) return out;
      out += piece[0];
      if (wanted == std::string::npos && out.ends_with("\r\n\r\n")) wanted = out.size() + length_in(out);
    }
    return out;
  }

  bool ended() const { return ended_; }
  /// The hub threw the connection away. Some systems then throw away what it had answered, too.
  bool reset() const { return reset_; }
  void hang_up() { channel_->finish(Clock::now() + 1s); }

 private:
  static sync::net::Socket connect_from(const std::string& from, int port) {
    sync::net::Socket socket(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0));
    sockaddr_in own{}, hub{};
    own.sin_family = hub.sin_family = AF_INET;
    inet_pton(AF_INET, from.c_str(), &own.sin_addr);
    inet_pton(AF_INET, "127.0.0.1", &hub.sin_addr);
    hub.sin_port = htons(static_cast<std::uint16_t>(port));
    if (::bind(socket.fd(), reinterpret_cast<sockaddr*>(&own), sizeof own) != 0 ||
        ::connect(socket.fd(), reinterpret_cast<sockaddr*>(&hub), sizeof hub) != 0)
      throw std::runtime_error("the test cannot connect");
    ::fcntl(socket.fd(), F_SETFL, ::fcntl(socket.fd(), F_GETFL) | O_NONBLOCK);
    return socket;
  }

  static std::size_t length_in(const std::string& head) {
    const std::size_t at = head.find("Content-Length: ");
    return at == std::string::npos ? 0 : std::stoul(head.substr(at + 16));
  }

  std::unique_ptr<sync::net::Channel> channel_;
  bool ended_ = false;
  bool reset_ = false;
};

inline int count_of(std::string_view text, std::string_view part) {
  int out = 0;
  for (std::size_t at = text.find(part); at != text.npos; at = text.find(part, at + part.size())) ++out;
  return out;
}

/// Resident memory of this process, in bytes (proc(5), VmRSS).
inline std::size_t resident_bytes() {
  std::ifstream status("/proc/self/status");
  for (std::string line; std::getline(status, line);)
    if (line.starts_with("VmRSS:")) return std::stoul(line.substr(6)) * 1024;
  return 0;
}

/// What a hub answers to these bytes, up to the end of the connection.
inline std::string answer_to(const TestHub& hub, std::string_view request) {
  Raw raw(hub.port());
  raw.send(request);
  raw.hang_up();
  return raw.read_to_end();
}

}  // namespace rackside::tests
