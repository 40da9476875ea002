#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "sync/http/limits.h"
#include "sync/http/message.h"

namespace rackside::sync::http {

/// Why the guard turns a request down. The connection ends after the answer: what follows on it cannot be trusted to be
/// the start of a request.
struct Refusal {
  int status;
  std::string_view code;
  std::string message;
};

enum class Framing { no_body, sized };
enum class Persistence { keep, close };
enum class Expectation { none, continue_100 };
/// How a body is written on the wire.
enum class Coding { identity, gzip };

/// A request's head that can be read in one way only.
struct Head {
  std::string method;
  std::string path;   ///< decoded
  std::string query;  ///< raw
  std::vector<Field> fields;
  Framing framing = Framing::no_body;
  std::size_t content_length = 0;  ///< as it comes over the wire
  Coding coding = Coding::identity;
  Coding takes = Coding::identity;  ///< what the answer may be written in
  Persistence persistence = Persistence::keep;
  Expectation expectation = Expectation::none;
  std::string token;

  std::optional<std::string_view> field(std::string_view name) const;
};

/// Reads everything up to and including the empty line. Stricter than RFC 9112 lets a server be, because two readers of
/// one lax request may disagree where it ends: bare line feeds, folded lines, space before a colon, several
/// Content-Length, Transfer-Encoding of any kind (411), bodies of a coding but gzip (415), a body on GET, HEAD or
/// DELETE, several ranges (416), control characters, dot segments, HTTP other than 1.1 are refused. Pure.
std::variant<Head, Refusal> parse_head(std::string_view text, const Limits& limits);

}  // namespace rackside::sync::http
