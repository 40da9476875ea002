#include "sync/net/socket.h"

#include <arpa/inet.h>
#include <netdb.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <memory>

#include "core/base/error.h"

namespace rackside::sync::net {
namespace {

using core::Error;
using core::Fault;

constexpr int kBacklog = 128;

struct AddressListDeleter {
  void operator()(addrinfo* list) const { freeaddrinfo(list); }
};
using AddressList = std::unique_ptr<addrinfo, AddressListDeleter>;

AddressList look_up(const std::string& host, int port, int flags, int& failure) {
  addrinfo hints{};
  hints.ai_family = AF_UNSPEC;
  hints.ai_socktype = SOCK_STREAM;
  hints.ai_flags = flags | AI_NUMERICSERV;
  addrinfo* list = nullptr;
  failure = getaddrinfo(host.c_str(), std::to_string(port).c_str(), &hints, &list);
  return AddressList(failure == 0 ? list : nullptr);
}

void set_option(int fd, int level, int name, int value) {
  setsockopt(fd, level, name, &value, sizeof value);
}

std::string describe(int error) {
  return std::strerror(error);
}

Address to_address(const sockaddr_storage& storage) {
  char text[INET6_ADDRSTRLEN] = "";
  if (storage.ss_family == AF_INET) {
    const auto& v4 = reinterpret_cast<const sockaddr_in&>(storage);
    inet_ntop(AF_INET, &v4.sin_addr, text, sizeof text);
    return {text, ntohs(v4.sin_port)};
  }
  if (storage.ss_family != AF_INET6) return {};
  const auto& v6 = reinterpret_cast<const sockaddr_in6&>(storage);
  if (IN6_IS_ADDR_V4MAPPED(&v6.sin6_addr))
    inet_ntop(AF_INET, &v6.sin6_addr.s6_addr[12], text, sizeof text);
  else
    inet_ntop(AF_INET6, &v6.sin6_addr, text, sizeof text);
  return {text, ntohs(v6.sin6_port)};
}

[[noreturn]] void fail_to_listen(const std::string& address, int port, int error) {
  const std::string where = address + " port " + std::to_string(port);
  if (error == EADDRINUSE)
    throw Error(Fault::busy, "Cannot listen on " + where + ": another program has it. Stop that one or choose a port.");
  throw Error(Fault::unreachable,
              "Cannot listen on " + where + ": " + describe(error) + ". Check the address and port.");
}

/// True once connected; otherwise `error` says why not.
bool finish_connecting(int fd, Instant deadline, int& error) {
  if (!wait_for(fd, Wait::writable, deadline)) {
    error = ETIMEDOUT;
    return false;
  }
  socklen_t size = sizeof error;
  getsockopt(fd, SOL_SOCKET, SO_ERROR, &error, &size);
  return error == 0;
}

Socket try_connecting(const addrinfo& entry, Instant deadline, int& error) {
  Socket socket(::socket(entry.ai_family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0));
  if (!socket) {
    error = errno;
    return {};
  }
  set_option(socket.fd(), IPPROTO_TCP, TCP_NODELAY, 1);
  if (::connect(socket.fd(), entry.ai_addr, entry.ai_addrlen) == 0) return socket;
  error = errno;
  if (error != EINPROGRESS || !finish_connecting(socket.fd(), deadline, error)) return {};
  return socket;
}

}  // namespace

Socket::Socket(int fd) {
  if (fd < 0) return;
  owner_ = std::shared_ptr<const int>(new int(fd), [](const int* owned) {
    ::close(*owned);
    delete owned;
  });
}

bool wait_for(int fd, Wait what, Instant deadline) {
  pollfd entry{fd, static_cast<short>(what == Wait::readable ? POLLIN : POLLOUT), 0};
  for (;;) {
    const Instant now = Clock::now();
    if (now >= deadline) return false;  // first: a trickle that is always ready must not outlive its time
    const auto left = std::chrono::ceil<Milliseconds>(deadline - now).count();
    const int ready = ::poll(&entry, 1, static_cast<int>(std::min<long long>(left, 1'000'000)));
    if (ready > 0) return true;
    if (ready < 0 && errno != EINTR) return true;  // the read or write that follows reports it
  }
}

Socket listen_on(const std::string& address, int port) {
  int failure = 0;
  const AddressList list = look_up(address, port, AI_NUMERICHOST | AI_PASSIVE, failure);
  if (!list)
    throw Error(Fault::bad_input,
                "\"" + address + "\" is not a numeric address. Give one such as 127.0.0.1 or 0.0.0.0.");
  Socket socket(::socket(list->ai_family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0));
  if (!socket) fail_to_listen(address, port, errno);
  set_option(socket.fd(), SOL_SOCKET, SO_REUSEADDR, 1);  // only past a closing connection, not beside a second hub
  if (list->ai_family == AF_INET6) set_option(socket.fd(), IPPROTO_IPV6, IPV6_V6ONLY, 0);
  if (::bind(socket.fd(), list->ai_addr, list->ai_addrlen) != 0) fail_to_listen(address, port, errno);
  if (::listen(socket.fd(), kBacklog) != 0) fail_to_listen(address, port, errno);
  return socket;
}

std::optional<std::pair<Socket, Address>> accept_from(const Socket& listener, bool& out_of_files) {
  sockaddr_storage storage{};
  socklen_t size = sizeof storage;
  Socket socket(::accept4(listener.fd(), reinterpret_cast<sockaddr*>(&storage), &size, SOCK_NONBLOCK | SOCK_CLOEXEC));
  out_of_files = !socket && (errno == EMFILE || errno == ENFILE || errno == ENOBUFS || errno == ENOMEM);
  if (!socket) return std::nullopt;
  set_option(socket.fd(), IPPROTO_TCP, TCP_NODELAY, 1);
  return std::pair{std::move(socket), to_address(storage)};
}

Socket connect_to(const std::string& host, int port, Instant deadline) {
  int failure = 0;
  const AddressList list = look_up(host, port, 0, failure);
  if (!list)
    throw Error(Fault::unreachable, "The name \"" + host + "\" is not known here (" + gai_strerror(failure) +
                                        "). Check the address, or use the hub's number instead.");
  int error = 0;
  for (const addrinfo* entry = list.get(); entry != nullptr; entry = entry->ai_next) {
    if (Socket socket = try_connecting(*entry, deadline, error)) return socket;
    if (Clock::now() >= deadline) break;
  }
  throw Error(Fault::unreachable, "The hub at " + host + " port " + std::to_string(port) + " does not answer (" +
                                      describe(error) + "). Is it running, and is this the same network?");
}

Address local_address(int fd) {
  sockaddr_storage storage{};
  socklen_t size = sizeof storage;
  if (::getsockname(fd, reinterpret_cast<sockaddr*>(&storage), &size) != 0) return {};
  return to_address(storage);
}

bool is_loopback(const std::string& ip) {
  in_addr v4{};
  if (inet_pton(AF_INET, ip.c_str(), &v4) == 1) return (ntohl(v4.s_addr) >> 24) == 127;
  in6_addr v6{};
  return inet_pton(AF_INET6, ip.c_str(), &v6) == 1 && IN6_IS_ADDR_LOOPBACK(&v6);
}

bool is_numeric_address(const std::string& text) {
  in6_addr any{};
  return inet_pton(AF_INET, text.c_str(), &any) == 1 || inet_pton(AF_INET6, text.c_str(), &any) == 1;
}

std::string share_key(const std::string& ip) {
  in6_addr v6{};
  if (inet_pton(AF_INET6, ip.c_str(), &v6) != 1) return ip;
  std::fill(v6.s6_addr + 8, v6.s6_addr + 16, std::uint8_t{0});
  char text[INET6_ADDRSTRLEN] = "";
  inet_ntop(AF_INET6, &v6, text, sizeof text);
  return text;
}

}  // namespace rackside::sync::net
