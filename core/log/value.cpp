#include "core/log/value.h"

#include <array>
#include <charconv>
#include <unordered_set>

#include "core/base/bytes.h"
#include "core/log/utf8.h"

namespace rackside::core {
namespace {

constexpr std::int64_t kMaxInteger = (std::int64_t{1} << 53) - 1;
constexpr std::size_t kMaxKeyBytes = 32;
// A typical event has about this many members; most inner objects have few.
constexpr std::size_t kUsualMembers = 14;
constexpr std::size_t kUsualInnerMembers = 4;
// Above this many keys, comparing each with all others would let one event of 64 KiB cost tenths of a second.
constexpr std::size_t kMaxLinearKeys = 24;

enum class Byte : std::uint8_t { plain, control, quote, backslash, high };

constexpr std::array<Byte, 256> make_byte_classes() {
  std::array<Byte, 256> out{};
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = i < 0x20 ? Byte::control : i >= 0x80 ? Byte::high : Byte::plain;
  out['"'] = Byte::quote;
  out['\\'] = Byte::backslash;
  return out;
}
constexpr auto kByteClass = make_byte_classes();

constexpr bool is_digit(char c) {
  return c >= '0' && c <= '9';
}
constexpr bool is_white(char c) {
  return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}
constexpr bool is_key_character(char c) {
  return (c >= 'a' && c <= 'z') || c == '_';
}

/// The keys of one object, as views into the text: a key holds no escapes, so equal keys are equal bytes.
class KeySet {
 public:
  bool add(std::string_view key, const Value::Object& members) {
    if (members.size() < kMaxLinearKeys) {
      for (const auto& member : members)
        if (member.first == key) return false;
      return true;
    }
    if (many_.empty())
      for (const auto& member : members) many_.insert(member.first);
    return many_.emplace(key).second;
  }

 private:
  std::unordered_set<std::string> many_;
};

class Parser {
 public:
  explicit Parser(std::string_view bytes) : text_(bytes) {}

  ParseResult run() {
    ParseResult result;
    if (check_frame() && value(result.value, 0) && at_ != text_.size()) fail_unexpected(Malformed::trailing);
    if (problem_ != Malformed::none) result.value = Value();
    result.problem = problem_;
    result.offset = at_;
    return result;
  }

 private:
  bool fail(Malformed problem) {
    problem_ = problem;
    return false;
  }

  /// The next byte cannot stand here: says so by the most telling name.
  bool fail_unexpected(Malformed otherwise) {
    if (at_ >= text_.size()) return fail(Malformed::unterminated);
    const char c = text_[at_];
    if (is_white(c)) return fail(Malformed::white_space);
    if (kByteClass[static_cast<std::uint8_t>(c)] == Byte::control) return fail(Malformed::control_character);
    return fail(otherwise);
  }

  bool check_frame() {
    if (text_.empty()) return fail(Malformed::empty);
    if (text_.size() > kMaxEventBytes) return fail(Malformed::too_long);
    if (text_.starts_with("\xEF\xBB\xBF")) return fail(Malformed::byte_order_mark);
    return true;
  }

  char peek() const { return at_ < text_.size() ? text_[at_] : '\0'; }

  bool take(char expected) {
    if (peek() != expected) return false;
    ++at_;
    return true;
  }

  bool value(Value& out, int depth) {
    switch (peek()) {
      case '{':
        return object(out, depth + 1);
      case '[':
        return array(out, depth + 1);
      case '"':
        return string_value(out);
      case 't':
        return literal("true", Value(true), out);
      case 'f':
        return literal("false", Value(false), out);
      case 'n':
        return literal("null", Value(), out);
      default:
        return number(out);
    }
  }

  bool literal(std::string_view word, Value meaning, Value& out) {
    if (text_.substr(at_, word.size()) != word) return fail(Malformed::bad_literal);
    at_ += word.size();
    out = std::move(meaning);
    return true;
  }

  bool number(Value& out) {
    const std::size_t start = at_;
    const bool negative = take('-');
    if (!is_digit(peek())) return negative ? fail(Malformed::bad_number) : fail_unexpected(Malformed::bad_literal);
    const bool zero = peek() == '0';
    std::int64_t magnitude = 0;
    bool in_range = true;
    for (; is_digit(peek()); ++at_) {
      magnitude = magnitude * 10 + (peek() - '0');
      if (magnitude > kMaxInteger) in_range = false, magnitude = 0;
    }
    const std::size_t digits = at_ - start - (negative ? 1 : 0);
    const char next = peek();
    if ((zero && (negative || digits > 1)) || next == '.' || next == 'e' || next == 'E')
      return fail(Malformed::bad_number);
    if (!in_range) return fail(Malformed::number_range);
    out = Value(negative ? -magnitude : magnitude);
    return true;
  }

  bool string_value(Value& out) {
    std::string text;
    if (!string(text)) return false;
    out = Value(std::move(text));
    return true;
  }

  bool string(std::string& out) {
    ++at_;
    for (;;) {
      const std::size_t start = at_;
      if (!skip_unescaped()) return false;
      out.append(text_, start, at_ - start);
      if (text_[at_++] == '"') return true;
      if (!escape(out)) return false;
    }
  }

  /// Moves to the next quote or backslash, checking what lies between.
  bool skip_unescaped() {
    for (; at_ < text_.size(); ++at_) {
      switch (kByteClass[static_cast<std::uint8_t>(text_[at_])]) {
        case Byte::plain:
          break;
        case Byte::quote:
        case Byte::backslash:
          return true;
        case Byte::control:
          return fail(text_[at_] == '\0' ? Malformed::nul : Malformed::control_character);
        case Byte::high:
          if (!high_character()) return false;
      }
    }
    return fail(Malformed::unterminated);
  }

  /// Leaves `at_` on the character's last byte.
  bool high_character() {
    const Utf8Step step = utf8_step(text_, at_);
    if (step.kind == Utf8Kind::surrogate) return fail(Malformed::surrogate);
    if (step.kind == Utf8Kind::invalid) return fail(Malformed::bad_utf8);
    at_ += step.length - 1;
    return true;
  }

  bool escape(std::string& out) {
    if (at_ >= text_.size()) return fail(Malformed::unterminated);
    switch (text_[at_]) {
      case '"':
        out += '"';
        break;
      case '\\':
        out += '\\';
        break;
      case '/':
        out += '/';
        break;
      case 'b':
        out += '\b';
        break;
      case 'f':
        out += '\f';
        break;
      case 'n':
        out += '\n';
        break;
      case 'r':
        out += '\r';
        break;
      case 't':
        out += '\t';
        break;
      case 'u':
        return unicode_escape(out);
      default:
        return fail(Malformed::bad_escape);
    }
    ++at_;
    return true;
  }

  bool unicode_escape(std::string& out) {
    std::array<std::uint8_t, 2> unit{};
    if (!from_hex(text_.substr(at_ + 1, 4), unit)) return fail(Malformed::bad_escape);
    const unsigned code = unit[0] * 256U + unit[1];
    if (code == 0) return fail(Malformed::nul);
    if (code >= 0xD800 && code <= 0xDFFF) return fail(Malformed::surrogate);
    if (code > 0x1F) return fail(Malformed::bad_escape);
    out += static_cast<char>(code);
    at_ += 5;
    return true;
  }

  bool array(Value& out, int depth) {
    if (depth > kMaxDepth) return fail(Malformed::too_deep);
    ++at_;
    Value::Array items;
    if (!take(']')) {
      do {
        if (!value(items.emplace_back(), depth)) return false;
      } while (take(','));
      if (!take(']')) return fail_unexpected(Malformed::bad_literal);
    }
    out = Value(std::move(items));
    return true;
  }

  bool object(Value& out, int depth) {
    if (depth > kMaxDepth) return fail(Malformed::too_deep);
    ++at_;
    Value::Object members;
    if (!take('}')) {
      members.reserve(depth == 1 ? kUsualMembers : kUsualInnerMembers);
      KeySet keys;
      do {
        if (!member(members, keys, depth)) return false;
      } while (take(','));
      if (!take('}')) return fail_unexpected(Malformed::bad_literal);
    }
    out = Value(std::move(members));
    return true;
  }

  bool member(Value::Object& members, KeySet& keys, int depth) {
    std::string_view key;
    if (!this->key(key)) return false;
    if (!keys.add(key, members)) return fail(Malformed::duplicate_key);
    if (!take(':')) return fail_unexpected(Malformed::bad_literal);
    return value(members.emplace_back(std::string(key), Value()).second, depth);
  }

  bool key(std::string_view& out) {
    if (!take('"')) return fail_unexpected(Malformed::bad_key);
    const std::size_t start = at_;
    while (is_key_character(peek())) ++at_;
    out = text_.substr(start, at_ - start);
    if (at_ >= text_.size()) return fail(Malformed::unterminated);
    return (take('"') && !out.empty() && out.size() <= kMaxKeyBytes) || fail(Malformed::bad_key);
  }

  std::string_view text_;
  std::size_t at_ = 0;
  Malformed problem_ = Malformed::none;
};

void write_escaped(char c, std::string& out) {
  constexpr std::string_view kHex = "0123456789abcdef";
  switch (c) {
    case '"':
      out += "\\\"";
      return;
    case '\\':
      out += "\\\\";
      return;
    case '\b':
      out += "\\b";
      return;
    case '\f':
      out += "\\f";
      return;
    case '\n':
      out += "\\n";
      return;
    case '\r':
      out += "\\r";
      return;
    case '\t':
      out += "\\t";
      return;
    default:
      out += "\\u00";
      out += kHex[static_cast<std::uint8_t>(c) >> 4];
      out += kHex[static_cast<std::uint8_t>(c) & 15];
  }
}

void write_string(std::string_view text, std::string& out) {
  out += '"';
  std::size_t start = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const Byte kind = kByteClass[static_cast<std::uint8_t>(text[i])];
    if (kind == Byte::plain || kind == Byte::high) continue;
    out.append(text, start, i - start);
    write_escaped(text[i], out);
    start = i + 1;
  }
  out.append(text, start);
  out += '"';
}

void write_integer(std::int64_t number, std::string& out) {
  std::array<char, 24> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), number).ptr;
  out.append(digits.data(), end);
}

void write(const Value& value, std::string& out);

void write_array(const Value::Array& items, std::string& out) {
  out += '[';
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (i > 0) out += ',';
    write(items[i], out);
  }
  out += ']';
}

void write_object(const Value::Object& members, std::string& out) {
  out += '{';
  for (std::size_t i = 0; i < members.size(); ++i) {
    if (i > 0) out += ',';
    write_string(members[i].first, out);
    out += ':';
    write(members[i].second, out);
  }
  out += '}';
}

void write(const Value& value, std::string& out) {
  if (const auto* flag = value.as_bool()) {
    out += *flag ? "true" : "false";
  } else if (const auto* number = value.as_int()) {
    write_integer(*number, out);
  } else if (const auto* text = value.as_string()) {
    write_string(*text, out);
  } else if (const auto* items = value.as_array()) {
    write_array(*items, out);
  } else if (const auto* members = value.as_object()) {
    write_object(*members, out);
  } else {
    out += "null";
  }
}

constexpr std::array<std::string_view, 19> kWords = {
    "none",        "too_long",     "too_deep",  "byte_order_mark", "white_space",   "control_character", "bad_utf8",
    "bad_escape",  "nul",          "surrogate", "bad_key",         "duplicate_key", "bad_number",        "number_range",
    "bad_literal", "unterminated", "trailing",  "not_an_event",    "empty"};

}  // namespace

std::string_view word_of(Malformed problem) {
  return kWords.at(static_cast<std::size_t>(problem));
}

const Value* Value::find(std::string_view key) const {
  const Object* members = as_object();
  if (members == nullptr) return nullptr;
  for (const Member& member : *members)
    if (member.first == key) return &member.second;
  return nullptr;
}

std::string_view Value::text(std::string_view key, std::string_view otherwise) const {
  const Value* found = find(key);
  const std::string* text = found == nullptr ? nullptr : found->as_string();
  return text == nullptr ? otherwise : std::string_view(*text);
}

std::int64_t Value::number(std::string_view key, std::int64_t otherwise) const {
  const Value* found = find(key);
  const std::int64_t* number = found == nullptr ? nullptr : found->as_int();
  return number == nullptr ? otherwise : *number;
}

bool Value::flag(std::string_view key, bool otherwise) const {
  const Value* found = find(key);
  const bool* flag = found == nullptr ? nullptr : found->as_bool();
  return flag == nullptr ? otherwise : *flag;
}

Value& Value::set(std::string_view key, Value value) {
  if (as_object() == nullptr) data_ = Object{};
  Object& members = *as_object();
  for (Member& member : members) {
    if (member.first != key) continue;
    member.second = std::move(value);
    return *this;
  }
  members.emplace_back(std::string(key), std::move(value));
  return *this;
}

ParseResult parse_strict(std::string_view bytes) {
  return Parser(bytes).run();
}

ParseResult parse_event_bytes(std::string_view bytes) {
  ParseResult result = parse_strict(bytes);
  if (result.problem != Malformed::none || bytes.starts_with(R"({"v":1,)")) return result;
  return {Value(), Malformed::not_an_event, 0};
}

std::string write_compact(const Value& value) {
  std::string out;
  write(value, out);
  return out;
}

std::string mend_text(std::string_view text) {
  constexpr std::string_view kReplacement = "\xEF\xBF\xBD";
  std::string out;
  out.reserve(text.size());
  for (std::size_t i = 0; i < text.size();) {
    const Utf8Step step = utf8_step(text, i);
    if (step.kind != Utf8Kind::good) {
      out += kReplacement;
    } else if (static_cast<std::uint8_t>(text[i]) < 0x20 || text[i] == 0x7F) {
      out += ' ';
    } else {
      out.append(text, i, step.length);
    }
    i += step.length;
  }
  return out;
}

}  // namespace rackside::core
