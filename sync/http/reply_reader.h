#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "sync/http/message.h"
#include "sync/net/channel.h"

namespace rackside::sync::http {

struct ReplyHead {
  int status = 0;
  std::vector<Field> fields;  ///< names in lower case
  std::string_view field(std::string_view name) const;
};

/// Reads the answers on one connection, piece by piece: heads, sized bodies, chunked bodies, bodies up to the end of
/// the connection. Source: RFC 9112, sections 4, 6 and 7.1. Errors: protocol (not HTTP, or ended early), unreachable
/// (silent for too long), too_large (a head over 64 KiB).
class ReplyReader {
 public:
  ReplyReader(net::Channel& channel, net::Milliseconds silence) : channel_(channel), silence_(silence) {}

  enum class First { none_yet, some };
  /// True until the first byte of this answer came: a kept connection that ends here may have been closed while idle.
  bool nothing_came() const { return first_ == First::none_yet; }

  ReplyHead head();
  using OnPiece = std::function<void(std::string_view)>;
  void body(const ReplyHead& head, const OnPiece& on_piece);
  /// True when another request can follow on the connection.
  bool reusable() const { return reusable_; }

 private:
  void need_more();
  std::string line();
  void sized(std::size_t length, const OnPiece& on_piece);
  void chunked(const OnPiece& on_piece);
  void until_closed(const OnPiece& on_piece);

  net::Channel& channel_;
  net::Milliseconds silence_;
  std::string pending_;
  First first_ = First::none_yet;
  bool reusable_ = false;
};

}  // namespace rackside::sync::http
