#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace rackside::core {

/// A JSON value of the kind that events are made of: no fractions, integers within ±(2^53 − 1).
/// An object keeps the order of its keys. A plain value type.
class Value {
 public:
  using Array = std::vector<Value>;
  using Member = std::pair<std::string, Value>;
  using Object = std::vector<Member>;

  Value() = default;
  Value(std::nullptr_t) {}
  Value(bool b) : data_(b) {}
  Value(std::int64_t n) : data_(n) {}
  Value(int n) : data_(std::int64_t{n}) {}
  Value(std::string s) : data_(std::move(s)) {}
  Value(std::string_view s) : data_(std::string(s)) {}
  Value(const char* s) : data_(std::string(s)) {}
  Value(Array a) : data_(std::move(a)) {}
  Value(Object o) : data_(std::move(o)) {}

  bool is_null() const { return std::holds_alternative<std::monostate>(data_); }
  const bool* as_bool() const { return std::get_if<bool>(&data_); }
  const std::int64_t* as_int() const { return std::get_if<std::int64_t>(&data_); }
  const std::string* as_string() const { return std::get_if<std::string>(&data_); }
  const Array* as_array() const { return std::get_if<Array>(&data_); }
  const Object* as_object() const { return std::get_if<Object>(&data_); }
  Array* as_array() { return std::get_if<Array>(&data_); }
  Object* as_object() { return std::get_if<Object>(&data_); }

  /// The member of that name, or nullptr: also when this is no object.
  const Value* find(std::string_view key) const;
  /// Shorthands for reading what another program wrote: the default when absent or of another type.
  std::string_view text(std::string_view key, std::string_view otherwise = {}) const;
  std::int64_t number(std::string_view key, std::int64_t otherwise = 0) const;
  bool flag(std::string_view key, bool otherwise = false) const;

  /// Adds or replaces a member; the value becomes an object when it was null.
  Value& set(std::string_view key, Value value);

  bool operator==(const Value&) const = default;

 private:
  std::variant<std::monostate, bool, std::int64_t, std::string, Array, Object> data_;
};

/// Why a text is not well-formed; `none` when it is. Each is one line of tests/vectors.
enum class Malformed {
  none,
  too_long,
  too_deep,
  byte_order_mark,
  white_space,
  control_character,
  bad_utf8,
  bad_escape,
  nul,
  surrogate,
  bad_key,
  duplicate_key,
  bad_number,
  number_range,
  bad_literal,
  unterminated,
  trailing,
  not_an_event,
  empty
};
std::string_view word_of(Malformed problem);

struct ParseResult {
  Value value;
  Malformed problem = Malformed::none;
  std::size_t offset = 0;  ///< byte at which the problem was noticed
};

constexpr std::size_t kMaxEventBytes = 65536;
constexpr int kMaxDepth = 32;

/// Parses and validates in one pass, so that what is judged is what was checked. Source: the event's form,
/// core/log/FORM.md. Well-formed means exactly: no byte-order mark; no white space or raw control character outside or
/// inside strings; valid UTF-8; `\u` only for U+0001 to U+001F, other escapes the short ones of RFC 8259; no U+0000, no
/// surrogate; keys `[a-z_]{1,32}`, unique in their object; numbers `0|-?[1-9][0-9]*` within ±(2^53 − 1); depth at most
/// 32, the outermost counting 1; at most 65 536 bytes. Accepts any JSON value at the top. Pure; never throws.
ParseResult parse_strict(std::string_view bytes);

/// `parse_strict`, and the bytes begin `{"v":1,`.
ParseResult parse_event_bytes(std::string_view bytes);

/// Writes the one compact form that `parse_strict` accepts, keys in the order they were set.
std::string write_compact(const Value& value);

/// Mends what people typed so that it fits a string of an event: invalid UTF-8 becomes U+FFFD, control characters
/// become a space. (Text is expected in NFC; see DEVELOPERS.md.)
std::string mend_text(std::string_view text);

}  // namespace rackside::core
