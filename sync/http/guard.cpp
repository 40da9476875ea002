#include "sync/http/guard.h"

#include <algorithm>
#include <array>

namespace rackside::sync::http {
namespace {

using net::Clock;
using net::Instant;
using net::Io;
using net::Milliseconds;
using net::Transfer;

constexpr std::size_t kPiece = 4096;
constexpr std::string_view kHeadEnd = "\r\n\r\n";
constexpr Milliseconds kLingerTime{1000};
constexpr std::size_t kLingerBytes = 256 * 1024;

Refusal too_slow() {
  return {408, "too-slow", "The request took too long to arrive. Send it again."};
}

Refusal too_large() {
  return {431, "too-large", "The headers are too large."};
}

}  // namespace

Transfer Guard::fill(Instant deadline) {
  if (Clock::now() >= deadline) return {Io::timed_out, 0};  // a trickle never waits, so the wait would never notice
  std::array<char, kPiece> piece;
  const Transfer got = channel_.read(piece, deadline);
  pending_.append(piece.data(), got.bytes);
  return got;
}

std::variant<Head, Refusal, Gone> Guard::next_head(Milliseconds idle) {
  if (pending_.empty() && fill(Clock::now() + idle).end != Io::done) return Gone{};
  const Instant deadline = Clock::now() + limits_.head_time;
  std::size_t searched = 0;
  for (;;) {
    const std::size_t end = pending_.find(kHeadEnd, searched);
    if (end != pending_.npos) return finish_head(end + kHeadEnd.size());
    if (pending_.size() > limits_.head) return too_large();
    searched = pending_.size() - std::min(pending_.size(), kHeadEnd.size() - 1);
    const Transfer got = fill(deadline);
    if (got.end == Io::timed_out) return too_slow();
    if (got.end != Io::done) return Gone{};
  }
}

std::variant<Head, Refusal, Gone> Guard::finish_head(std::size_t size) {
  auto parsed = parse_head(std::string_view(pending_).substr(0, size), limits_);
  pending_.erase(0, size);
  if (auto* refusal = std::get_if<Refusal>(&parsed)) return std::move(*refusal);
  auto& head = std::get<Head>(parsed);
  unread_ = head.content_length;
  body_deadline_ = Clock::now() + limits_.body_time;
  return std::move(head);
}

Transfer Guard::read_body(std::span<char> into) {
  if (unread_ == 0) return {Io::closed, 0};
  if (pending_.empty()) {
    const Transfer got = fill(body_deadline_);
    if (got.end != Io::done) return got;
  }
  const std::size_t count = std::min({into.size(), pending_.size(), unread_});
  std::copy_n(pending_.begin(), count, into.begin());
  pending_.erase(0, count);
  unread_ -= count;
  return {Io::done, count};
}

bool Guard::send(std::string_view data) {
  constexpr std::size_t kMostAtOnce = 64 * 1024;
  while (!data.empty()) {
    const std::string_view piece = data.substr(0, kMostAtOnce);
    if (channel_.write(piece, Clock::now() + limits_.write_time).end != Io::done) return false;
    data.remove_prefix(piece.size());
  }
  return true;
}

void Guard::end_gently() {
  const Instant deadline = Clock::now() + kLingerTime;
  channel_.finish(deadline);
  std::array<char, kPiece> piece;
  for (std::size_t thrown_away = 0; thrown_away < kLingerBytes && Clock::now() < deadline;) {
    const Transfer got = channel_.read(piece, deadline);
    if (got.end != Io::done) return;
    thrown_away += got.bytes;
  }
}

}  // namespace rackside::sync::http
