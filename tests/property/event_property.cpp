#include <string>

#include "core/log/event.h"
#include "core/log/value.h"
#include "tests/support/property.h"

namespace {

using namespace rackside::core;
using rackside::tests::check_property;

constexpr std::int64_t kMaxInteger = (std::int64_t{1} << 53) - 1;

/// Strings of characters from all over Unicode, never U+0000 and no surrogate.
rc::Gen<std::string> text_generator() {
  const auto piece =
      rc::gen::element<std::string>("a", "Z", " ", "\"", "\\", "/", "\n", "\x01", "\x1F", "\x7F", "\xC3\xA9",
                                    "\xE2\x82\xAC", "\xF0\x9F\x90\x8D", "\xEF\xBB\xBF", "\xF4\x8F\xBF\xBF");
  return rc::gen::map(rc::gen::container<std::vector<std::string>>(piece), [](const std::vector<std::string>& pieces) {
    std::string out;
    for (const auto& one : pieces) out += one;
    return out;
  });
}

rc::Gen<std::string> key_generator() {
  const auto letters = rc::gen::nonEmpty(rc::gen::container<std::string>(rc::gen::elementOf(std::string("abcxyz_"))));
  return rc::gen::map(letters, [](std::string key) { return key.substr(0, 32); });
}

rc::Gen<std::int64_t> integer_generator() {
  return rc::gen::oneOf(rc::gen::inRange<std::int64_t>(-100, 100),
                        rc::gen::inRange<std::int64_t>(-kMaxInteger, kMaxInteger + 1),
                        rc::gen::element<std::int64_t>(0, kMaxInteger, -kMaxInteger));
}

Value random_value(int depth);

Value random_object(int depth) {
  Value out(Value::Object{});
  for (const std::string& key : *rc::gen::resize(4, rc::gen::container<std::vector<std::string>>(key_generator())))
    out.set(key, random_value(depth + 1));
  return out;
}

Value random_array(int depth) {
  Value::Array out;
  for (int left = *rc::gen::inRange(0, 4); left > 0; --left) out.push_back(random_value(depth + 1));
  return Value(std::move(out));
}

Value random_value(int depth) {
  switch (*rc::gen::inRange(0, depth < 5 ? 6 : 4)) {
    case 0:
      return Value();
    case 1:
      return Value(*rc::gen::arbitrary<bool>());
    case 2:
      return Value(*integer_generator());
    case 3:
      return Value(*text_generator());
    case 4:
      return random_array(depth);
    default:
      return random_object(depth);
  }
}

template <std::size_t N>
std::array<std::uint8_t, N> random_bytes() {
  std::array<std::uint8_t, N> out{};
  for (auto& byte : out) byte = *rc::gen::arbitrary<std::uint8_t>();
  return out;
}

SaidTime random_said() {
  switch (*rc::gen::inRange(0, 3)) {
    case 0:
      return {std::nullopt, std::nullopt, *rc::gen::inRange(0, 100000)};
    case 1:
      return {std::nullopt, *rc::gen::inRange(0, 1440), std::nullopt};
    default:
      return {*rc::gen::inRange(-20000, 60000), *rc::gen::inRange(0, 1440), std::nullopt};
  }
}

Event random_event() {
  Event event;
  const auto kinds = kind_table();
  event.kind = kinds[*rc::gen::inRange<std::size_t>(1, kinds.size())].kind;
  event.kind_name = std::string(word_of(event.kind));
  event.of = *rc::gen::container<std::vector<std::string>>(text_generator());
  event.place = *text_generator();
  event.shown = *rc::gen::container<std::vector<std::string>>(text_generator());
  event.by = *text_generator();
  event.clock = {*integer_generator(), *rc::gen::arbitrary<std::uint64_t>(), *integer_generator()};
  if (*rc::gen::arbitrary<bool>()) event.said = random_said();
  for (int left = *rc::gen::inRange(0, 4); left > 0; --left) {
    const EventRef ref{random_bytes<8>(), *rc::gen::inRange<std::uint32_t>(1, 4000000000U), random_bytes<16>()};
    event.re.push_back({ref, static_cast<Relation>(*rc::gen::inRange(1, 5))});
  }
  event.own = Value(Value::Object{{"x_own", random_value(2)}, {"x_more", random_value(2)}});
  if (*rc::gen::arbitrary<bool>()) event.seal = random_bytes<32>();
  return event;
}

TEST_CASE("a value that is written is read back equal, and writes the same bytes again") {
  check_property("parse(write(value)) == value", [] {
    const Value value = random_value(1);
    const std::string bytes = write_compact(value);
    RC_PRE(bytes.size() <= kMaxEventBytes);
    const ParseResult parsed = parse_strict(bytes);
    RC_ASSERT(parsed.problem == Malformed::none);
    RC_ASSERT(parsed.value == value);
    RC_ASSERT(write_compact(parsed.value) == bytes);
  });
}

TEST_CASE("an event that is written is read back equal, and writes the same bytes again") {
  check_property("decode(encode(event)) == event", [] {
    const Event event = random_event();
    const std::string bytes = encode_event(event);
    const DecodedEvent decoded = decode_event(bytes);
    RC_ASSERT(decoded.event.has_value());
    RC_ASSERT(*decoded.event == event);
    RC_ASSERT(encode_event(*decoded.event) == bytes);
  });
}

TEST_CASE("no prefix of an event is an event") {
  check_property("a cut event is never well-formed", [] {
    const std::string bytes = encode_event(random_event());
    const auto length = *rc::gen::inRange<std::size_t>(0, bytes.size());
    RC_ASSERT(parse_event_bytes(std::string_view(bytes).substr(0, length)).problem != Malformed::none);
  });
}

TEST_CASE("any bytes at all get a verdict, and typed text can always be mended into an event") {
  check_property("mended text fits", [] {
    const auto text = *rc::gen::container<std::string>(rc::gen::arbitrary<char>());
    static_cast<void>(parse_event_bytes(text));
    Event event;
    event.kind = Kind::noted;
    event.own = Value(Value::Object{{"text", Value(mend_text(text))}});
    RC_ASSERT(decode_event(encode_event(event)).event->own.text("text") == mend_text(text));
    RC_ASSERT(mend_text(mend_text(text)) == mend_text(text));
  });
}

}  // namespace
