#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace rackside::sync::http {

struct Field {
  std::string name;  ///< of a request: lower case
  std::string value;
};

/// A request that has passed the guard. Everything in it is still the peer's word, except `remote_ip`, and `device` and
/// `role`, which the hub's own admission filled in.
struct Request {
  std::string method;  ///< GET, HEAD, POST, PUT or DELETE
  std::string path;    ///< decoded, absolute, without "." and ".." segments
  std::string query;   ///< raw, without the question mark
  std::vector<Field> fields;
  std::string body;
  std::string remote_ip;
  std::string token;   ///< of "Authorization: Bearer …"; empty without
  std::string device;  ///< set by the admission
  std::string role;    ///< set by the admission

  /// A header's value, by lower-case name.
  std::optional<std::string_view> field(std::string_view name) const;
  /// A parameter of the query, decoded; the first of that name. Empty optional when absent or badly encoded.
  std::optional<std::string> parameter(std::string_view name) const;
};

/// Takes a piece of the answer; false when the peer is gone: stop.
using Sink = std::function<bool(std::string_view)>;

/// Called again and again while it answers true; it writes a piece (64 KiB or less serves well) or nothing each time.
/// Nothing is kept but the piece. An exception, as `Abort`, breaks the connection off so that the peer notices.
using Producer = std::function<bool(const Sink&)>;

struct Response {
  int status = 200;
  std::string content_type = "application/json";
  std::string body;
  Producer stream;  ///< when set, it is sent instead of `body`, chunked
  /// Whether it may be compressed for a peer that takes it. Not where a secret of ours stands beside what the peer
  /// chose: the size would tell of it.
  enum class Compress { never, when_taken } compress = Compress::never;
  std::string cache_control = "no-store";
  std::vector<Field> fields;  ///< further headers, such as ETag or Content-Encoding
};

using Handler = std::function<Response(const Request&)>;

/// `{"error":CODE,"message":MESSAGE}` and the status. The one form in which the hub says no.
Response error_response(int status, std::string_view code, std::string_view message);

/// Percent decoding; empty optional for a malformed escape.
std::optional<std::string> decode_percent(std::string_view text);

/// The text as a JSON string, quotes included; bytes that are not ASCII go through as they are.
std::string json_string(std::string_view text);

}  // namespace rackside::sync::http
