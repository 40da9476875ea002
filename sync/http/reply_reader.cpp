#include "sync/http/reply_reader.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>

#include "core/base/error.h"

namespace rackside::sync::http {
namespace {

using core::Error;
using core::Fault;

constexpr std::size_t kMostHead = 64 * 1024;
constexpr std::size_t kPiece = 16 * 1024;

[[noreturn]] void broken(const std::string& what) {
  throw Error(Fault::protocol, "The hub's answer cannot be read: " + what + ". Is this the hub's address? Try again.");
}

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return out;
}

std::string_view trim(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

std::size_t number(std::string_view text, int base) {
  std::size_t out = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out, base);
  if (error != std::errc{} || end != text.data() + text.size()) broken("a length is not a number");
  return out;
}

int status_of(const std::string& line) {
  if (!line.starts_with("HTTP/1.1 ") && !line.starts_with("HTTP/1.0 ")) broken("it is not HTTP");
  return static_cast<int>(number(std::string_view(line).substr(9, 3), 10));
}

bool has_body(const ReplyHead& head) {
  return head.status != 204 && head.status != 304;
}

}  // namespace

std::string_view ReplyHead::field(std::string_view name) const {
  const auto found = std::find_if(fields.begin(), fields.end(), [&](const Field& f) { return f.name == name; });
  return found == fields.end() ? std::string_view{} : std::string_view(found->value);
}

void ReplyReader::need_more() {
  std::array<char, kPiece> piece;
  const net::Transfer got = channel_.read(piece, net::Clock::now() + silence_);
  if (got.end == net::Io::timed_out)
    throw Error(Fault::unreachable, "The hub fell silent in the middle of an answer. Is it still in reach? Try again.");
  if (got.end != net::Io::done) broken("it ended early");
  first_ = First::some;
  pending_.append(piece.data(), got.bytes);
}

std::string ReplyReader::line() {
  for (;;) {
    if (const std::size_t end = pending_.find("\r\n"); end != pending_.npos) {
      std::string out = pending_.substr(0, end);
      pending_.erase(0, end + 2);
      return out;
    }
    if (pending_.size() > kMostHead) throw Error(Fault::too_large, "The hub's answer starts with too large headers.");
    need_more();
  }
}

ReplyHead ReplyReader::head() {
  first_ = pending_.empty() ? First::none_yet : First::some;
  reusable_ = false;
  ReplyHead out;
  out.status = status_of(line());
  std::size_t total = 0;
  for (std::string text = line(); !text.empty(); text = line()) {
    total += text.size();
    const std::size_t colon = text.find(':');
    if (colon == text.npos) broken("a header has no name");
    if (total > kMostHead) throw Error(Fault::too_large, "The hub's answer starts with too large headers.");
    out.fields.push_back({lower(text.substr(0, colon)), std::string(trim(std::string_view(text).substr(colon + 1)))});
  }
  return out;
}

void ReplyReader::body(const ReplyHead& head, const OnPiece& on_piece) {
  const bool closing = lower(head.field("connection")).find("close") != std::string::npos;
  if (lower(head.field("transfer-encoding")) == "chunked")
    chunked(on_piece);
  else if (!head.field("content-length").empty())
    sized(number(head.field("content-length"), 10), on_piece);
  else if (has_body(head))
    return until_closed(on_piece);
  reusable_ = !closing && pending_.empty();
}

void ReplyReader::sized(std::size_t length, const OnPiece& on_piece) {
  while (length > 0) {
    if (pending_.empty()) need_more();
    const std::size_t count = std::min(length, pending_.size());
    on_piece(std::string_view(pending_).substr(0, count));
    pending_.erase(0, count);
    length -= count;
  }
}

void ReplyReader::chunked(const OnPiece& on_piece) {
  for (;;) {
    const std::string text = line();
    const std::size_t size = number(trim(std::string_view(text).substr(0, text.find(';'))), 16);
    if (size == 0) break;
    sized(size, on_piece);
    if (!line().empty()) broken("a chunk is longer than it says");
  }
  while (!line().empty()) continue;  // trailers say nothing to us
}

void ReplyReader::until_closed(const OnPiece& on_piece) {
  std::array<char, kPiece> piece;
  on_piece(pending_);
  pending_.clear();
  for (;;) {
    const net::Transfer got = channel_.read(piece, net::Clock::now() + silence_);
    if (got.end == net::Io::closed) return;
    if (got.end != net::Io::done) broken("it ended early");
    on_piece({piece.data(), got.bytes});
  }
}

}  // namespace rackside::sync::http
