#include "tests/bench/loopback.h"

#include <fcntl.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <chrono>

namespace rackside::bench {
namespace {

std::int64_t since_epoch_ms() {
  return std::chrono::duration_cast<std::chrono::milliseconds>(std::chrono::system_clock::now().time_since_epoch())
      .count();
}

sync::http::ServerOptions options_for(const std::string& name) {
  sync::http::ServerOptions out;
  out.names = {name};
  // All devices of a benchmark come from one address.
  out.limits.connections_per_address = out.limits.connections;
  out.admit = [](const sync::http::Request& request, std::string_view) {
    return sync::http::Admission{{}, request.token, "keeper"};
  };
  return out;
}

}  // namespace

sync::ClockSource wall_clock() {
  return [] {
    const std::int64_t now = since_epoch_ms();
    return core::ClockReading{now, 1, now};
  };
}

LoopbackHub::LoopbackHub(const std::string& book)
    : identity_(sync::tls::create_identity("rack-bench.local", {"127.0.0.1"}, since_epoch_ms())),
      hub_(book, identity_.name, wall_clock()),
      server_(options_for(identity_.name)) {
  hub_.add_routes(server_);
  server_.use_identity(identity_);
  server_.listen("127.0.0.1", 0);
}

sync::http::Client LoopbackHub::client(const std::string& device, int port) const {
  const auto url = sync::http::parse_url("https://127.0.0.1:" + std::to_string(port == 0 ? this->port() : port));
  sync::http::Client out(url, sync::tls::PinnedAuthority{identity_.root});
  out.use_token(device);
  return out;
}

CountingPort::CountingPort(int target)
    : listener_(sync::net::listen_on("127.0.0.1", 0)),
      port_(sync::net::local_address(listener_.fd()).port),
      thread_([this, target] { run(target); }) {}

CountingPort::~CountingPort() {
  ending_ = true;
  thread_.join();
}

void CountingPort::run(int target) {
  while (!ending_) {
    pollfd waiting{listener_.fd(), POLLIN, 0};
    if (::poll(&waiting, 1, 20) <= 0) continue;
    bool full = false;
    const auto accepted = sync::net::accept_from(listener_, full);
    if (!accepted) continue;
    const auto onward = sync::net::connect_to("127.0.0.1", target, sync::net::Clock::now() + std::chrono::seconds(5));
    for (const int fd : {accepted->first.fd(), onward.fd()}) ::fcntl(fd, F_SETFL, ::fcntl(fd, F_GETFL) & ~O_NONBLOCK);
    carry(accepted->first.fd(), onward.fd());
  }
}

void CountingPort::carry(int one, int other) {
  std::array<char, 256 * 1024> piece;
  const std::array<std::array<int, 2>, 2> ways = {{{one, other}, {other, one}}};
  while (!ending_) {
    std::array<pollfd, 2> waiting = {{{one, POLLIN, 0}, {other, POLLIN, 0}}};
    if (::poll(waiting.data(), waiting.size(), 20) <= 0) continue;
    for (std::size_t i = 0; i < ways.size(); ++i) {
      if (waiting[i].revents == 0) continue;
      const ssize_t count = ::read(ways[i][0], piece.data(), piece.size());
      if (count <= 0) return;
      bytes_ += static_cast<std::size_t>(count);
      for (ssize_t at = 0; at < count;) {
        const ssize_t sent = ::send(ways[i][1], piece.data() + at, static_cast<std::size_t>(count - at), MSG_NOSIGNAL);
        if (sent <= 0) return;
        at += sent;
      }
    }
  }
}

}  // namespace rackside::bench
