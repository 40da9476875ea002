#include "sync/net/channel.h"

#include <sys/socket.h>

#include <cerrno>

namespace rackside::sync::net {
namespace {

bool would_block(int error) {
  return error == EAGAIN || error == EWOULDBLOCK || error == EINTR;
}

class PlainChannel : public Channel {
 public:
  explicit PlainChannel(Socket socket) : socket_(std::move(socket)) {}

  Transfer read(std::span<char> into, Instant deadline) override {
    for (;;) {
      const ssize_t got = ::recv(fd(), into.data(), into.size(), 0);
      if (got > 0) return {Io::done, static_cast<std::size_t>(got)};
      if (got == 0) return {Io::closed, 0};
      if (!would_block(errno)) return {Io::failed, 0};
      if (!wait_for(fd(), Wait::readable, deadline)) return {Io::timed_out, 0};
    }
  }

  Transfer write(std::string_view data, Instant deadline) override {
    std::size_t sent = 0;
    while (sent < data.size()) {
      const ssize_t count = ::send(fd(), data.data() + sent, data.size() - sent, MSG_NOSIGNAL);
      if (count >= 0)
        sent += static_cast<std::size_t>(count);
      else if (!would_block(errno))
        return {Io::failed, sent};
      else if (!wait_for(fd(), Wait::writable, deadline))
        return {Io::timed_out, sent};
    }
    return {Io::done, sent};
  }

  void finish(Instant) override { ::shutdown(fd(), SHUT_WR); }
  int fd() const override { return socket_.fd(); }

 private:
  Socket socket_;
};

}  // namespace

std::unique_ptr<Channel> plain_channel(Socket socket) {
  return std::make_unique<PlainChannel>(std::move(socket));
}

}  // namespace rackside::sync::net
