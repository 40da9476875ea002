#include "tests/support/cutting_way.h"

#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <stdexcept>

namespace rackside::tests {
namespace {

constexpr int kPatienceMs = 20'000;

/// False when the other end is gone.
bool write_all(int to, const char* data, std::size_t size) {
  while (size > 0) {
    const ssize_t count = ::send(to, data, size, MSG_NOSIGNAL);
    if (count < 0 && (errno == EAGAIN || errno == EWOULDBLOCK)) {
      pollfd ready{to, POLLOUT, 0};
      if (::poll(&ready, 1, kPatienceMs) <= 0) return false;
      continue;
    }
    if (count <= 0) return false;
    data += count;
    size -= static_cast<std::size_t>(count);
  }
  return true;
}

class Way {
 public:
  Way(int from, int to, std::size_t most) : from_(from), to_(to), left_(most) {}
  /// Carries what is there; false when the way has come to its end.
  bool step() {
    std::array<char, 16 * 1024> piece{};
    const ssize_t count = ::recv(from_, piece.data(), std::min(piece.size(), std::max<std::size_t>(left_, 1)), 0);
    if (count < 0 && (errno == EAGAIN || errno == EWOULDBLOCK)) return true;
    if (count <= 0 || left_ == 0) return false;
    left_ -= static_cast<std::size_t>(count);
    carried_ += static_cast<std::size_t>(count);
    return write_all(to_, piece.data(), static_cast<std::size_t>(count)) && left_ > 0;
  }
  std::size_t carried() const { return carried_; }

 private:
  int from_;
  int to_;
  std::size_t left_;
  std::size_t carried_ = 0;
};

}  // namespace

std::size_t carry(int leader, int other, Said cut, std::size_t most) {
  constexpr std::size_t kAll = SIZE_MAX;
  Way ask(leader, other, cut == Said::asked ? most : kAll);
  Way answer(other, leader, cut == Said::answered ? most : kAll);
  std::array<pollfd, 2> ends{{{leader, POLLIN, 0}, {other, POLLIN, 0}}};
  bool open = most > 0;
  while (open && ::poll(ends.data(), ends.size(), kPatienceMs) > 0) {
    if (ends[0].revents != 0) open = ask.step();
    if (open && ends[1].revents != 0) open = answer.step();
  }
  ::shutdown(leader, SHUT_RDWR);
  ::shutdown(other, SHUT_RDWR);
  return cut == Said::asked ? ask.carried() : answer.carried();
}

CutPipe::CutPipe(Said cut, std::size_t most) {
  std::array<int, 2> near{};
  std::array<int, 2> far{};
  if (::socketpair(AF_UNIX, SOCK_STREAM, 0, near.data()) != 0 ||
      ::socketpair(AF_UNIX, SOCK_STREAM, 0, far.data()) != 0) {
    throw std::runtime_error("no socket pair");
  }
  leader = near[0];
  other = far[0];
  thread_ = std::thread([this, cut, most, near_end = near[1], far_end = far[1]] {
    carried_ = carry(near_end, far_end, cut, most);
    ::close(near_end);
    ::close(far_end);
  });
}

std::size_t CutPipe::end() {
  if (thread_.joinable()) thread_.join();
  return carried_;
}

CutPort::CutPort(int target, Said cut, std::size_t most) : listener_(sync::net::listen_on("127.0.0.1", 0)) {
  port_ = sync::net::local_address(listener_.fd()).port;
  std::array<int, 2> wake{};
  if (::pipe(wake.data()) != 0) throw std::runtime_error("no pipe");
  wake_read_ = wake[0];
  wake_write_ = wake[1];
  thread_ = std::thread([this, target, cut, most] { run(target, cut, most); });
}

void CutPort::run(int target, Said cut, std::size_t most) {
  bool first = true;
  for (;;) {
    std::array<pollfd, 2> ends{{{listener_.fd(), POLLIN, 0}, {wake_read_, POLLIN, 0}}};
    ::poll(ends.data(), ends.size(), -1);
    if (ends[1].revents != 0) return;
    bool out_of_files = false;
    const auto accepted = sync::net::accept_from(listener_, out_of_files);
    if (!accepted || !first) continue;
    first = false;
    const auto there = sync::net::connect_to("127.0.0.1", target, sync::net::Clock::now() + std::chrono::seconds(5));
    carried_ = carry(accepted->first.fd(), there.fd(), cut, most);
  }
}

std::size_t CutPort::end() {
  if (!thread_.joinable()) return carried_;
  // Not before the connection at work is through: its other ends are closed by then.
  if (::write(wake_write_, "x", 1) != 1) throw std::runtime_error("the waker is gone");
  thread_.join();
  ::close(wake_read_);
  ::close(wake_write_);
  return carried_;
}

}  // namespace rackside::tests
