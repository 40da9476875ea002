#include <string>

#include "core/base/error.h"
#include "core/crypto/sha256.h"
#include "core/log/event.h"
#include "tests/support/catch.h"

namespace {

using namespace rackside::core;

Event whole_event() {
  Event event;
  event.kind = Kind::fed;
  event.kind_name = "fed";
  event.of = {"A7K2M9QX4A", "A000000001"};
  event.place = "T7K2M9QX4A";
  event.shown = {"A7K2M9QX4A"};
  event.by = "H7K2M9QX4A";
  event.clock = {1764061200123, 0x0123456789ABCDEF, 123456};
  event.said = SaidTime{20782, 19 * 60 + 5, std::nullopt};
  EventRef ref;
  ref.device.fill(0x11);
  ref.seq = 4294967295U;
  ref.hash.fill(0xAB);
  event.re = {{ref, Relation::again}};
  event.own = Value(Value::Object{{"items", Value(Value::Array{Value(Value::Object{{"prey", "rat"}, {"count", 2}})})}});
  event.seal = Hash{};
  return event;
}

constexpr std::string_view kWholeBytes =
    R"({"v":1,"kind":"fed","of":["A7K2M9QX4A","A000000001"],"place":"T7K2M9QX4A","shown":["A7K2M9QX4A"],)"
    R"("by":"H7K2M9QX4A","wall":1764061200123,"run":"0123456789abcdef","ms":123456,)"
    R"("said":{"day":"2026-11-25","clock":"19:05"},)"
    R"("re":[["1111111111111111",4294967295,"abababababababababababababababab","again"]],)"
    R"("items":[{"prey":"rat","count":2}],)"
    R"("seal":"0000000000000000000000000000000000000000000000000000000000000000"})";

TEST_CASE("an event is written in the form of FORM.md, byte for byte, and read back equal") {
  CHECK(encode_event(whole_event()) == kWholeBytes);
  const DecodedEvent decoded = decode_event(kWholeBytes);
  REQUIRE(decoded.event);
  CHECK(*decoded.event == whole_event());
}

TEST_CASE("absent parts are not written") {
  Event event;
  event.kind = Kind::watered;
  CHECK(encode_event(event) == R"({"v":1,"kind":"watered","wall":0,"run":"0000000000000000","ms":0})");
}

TEST_CASE("a relative time is written in minutes") {
  Event event;
  event.kind = Kind::fed;
  event.said = SaidTime{std::nullopt, std::nullopt, 120};
  const std::string bytes = encode_event(event);
  CHECK(rackside::tests::contains(bytes, R"("said":{"ago_min":120})"));
  CHECK(decode_event(bytes).event->said == event.said);
}

TEST_CASE("unknown kinds and fields are kept") {
  const std::string bytes =
      R"({"v":1,"kind":"sang","wall":5,"run":"00000000000000ff","ms":6,"loudly":true,"songs":[null]})";
  const DecodedEvent decoded = decode_event(bytes);
  REQUIRE(decoded.event);
  CHECK(decoded.event->kind == Kind::unknown);
  CHECK(decoded.event->kind_name == "sang");
  CHECK(decoded.event->clock.run == 255);
  CHECK(decoded.event->own.flag("loudly"));
  CHECK(encode_event(*decoded.event) == bytes);
}

TEST_CASE("a known part of another form is kept under its name and refuses nothing") {
  for (const char* part : {R"("kind":7)",
                           R"("kind":"")",
                           R"("of":"A7K2M9QX4A")",
                           R"("of":[])",
                           R"("of":[1])",
                           R"("place":[])",
                           R"("place":"")",
                           R"("shown":{})",
                           R"("by":null)",
                           R"("wall":"noon")",
                           R"("run":"0123456789ABCDEF")",
                           R"("run":"12")",
                           R"("run":12)",
                           R"("ms":true)",
                           R"("said":{})",
                           R"("said":{"clock":"25:00"})",
                           R"("said":{"day":"2026-02-30"})",
                           R"("said":{"ago_min":-1})",
                           R"("said":{"ago_min":5,"clock":"10:00"})",
                           R"("said":{"clock":"10:00","sun":"high"})",
                           R"("said":"noon")",
                           R"("re":[])",
                           R"("re":{})",
                           R"("re":[["1111111111111111",1,"abababababababababababababababab"]])",
                           R"("re":[["1111111111111111",0,"abababababababababababababababab","saw"]])",
                           R"("re":[["1111111111111111",4294967296,"abababababababababababababababab","saw"]])",
                           R"("re":[["1111111111111111",1,"ABABABABABABABABABABABABABABABAB","saw"]])",
                           R"("re":[["1111111111111111",1,"abababababababababababababababab","heard"]])",
                           R"("seal":"00")",
                           R"("seal":0)"}) {
    INFO(part);
    const std::string bytes = std::string(R"({"v":1,)") + part + "}";
    const DecodedEvent decoded = decode_event(bytes);
    REQUIRE(decoded.event);
    const std::string key = std::string(part).substr(1, std::string(part).find('"', 1) - 1);
    REQUIRE(decoded.event->own.find(key) != nullptr);
    CHECK(bytes.ends_with(write_compact(*decoded.event->own.find(key)) + "}"));
    const std::string once = encode_event(*decoded.event);
    CHECK(encode_event(*decode_event(once).event) == once);
  }
}

TEST_CASE("bytes that are not well-formed give their problem and no event") {
  const DecodedEvent decoded = decode_event(R"({"v":1,"a":1.0})");
  CHECK_FALSE(decoded.event.has_value());
  CHECK(decoded.problem == Malformed::bad_number);
}

Fault fault_of(const Event& event) {
  try {
    encode_event(event);
  } catch (const Error& error) {
    return error.fault();
  }
  return Fault::internal;
}

TEST_CASE("what no event may hold is refused before it is written") {
  Event event = whole_event();
  event.own = Value(Value::Object{{"Upper", Value(1)}});
  CHECK(fault_of(event) == Fault::bad_event);
  event.own = Value(Value::Object{{"big", Value(std::int64_t{1} << 53)}});
  CHECK(fault_of(event) == Fault::bad_event);
  event.own = Value(Value::Object{{"text", Value("\xFF")}});
  CHECK(fault_of(event) == Fault::bad_event);
  event.own = Value(Value::Object{{"text", Value(std::string(1, '\0'))}});
  CHECK(fault_of(event) == Fault::bad_event);
  event.own = Value(Value::Object{{"a", Value(1)}, {"a", Value(2)}});
  CHECK(fault_of(event) == Fault::bad_event);
  event.own = Value(Value::Object{{"by", Value("H7K2M9QX4A")}});
  CHECK(fault_of(event) == Fault::bad_event);
  event.own = Value(Value::Object{{"text", Value(std::string(70000, 'x'))}});
  CHECK(fault_of(event) == Fault::too_large);
  event = whole_event();
  event.said = SaidTime{};
  CHECK(fault_of(event) == Fault::bad_event);
  event.said = SaidTime{std::nullopt, 1440, std::nullopt};
  CHECK(fault_of(event) == Fault::bad_event);
}

TEST_CASE("a reference has one text form") {
  const EventRef ref = whole_event().re[0].event;
  CHECK(to_text(ref) == "1111111111111111:4294967295:abababababababababababababababab");
  CHECK(ref_from_text(to_text(ref)) == ref);
  for (const char* text :
       {"", "1111111111111111", "1111111111111111:1", "1111111111111111::abababababababababababababababab",
        "1111111111111111:x:abababababababababababababababab", "11:1:ab",
        "1111111111111111:4294967296:abababababababababababababababab"}) {
    INFO(text);
    CHECK_FALSE(ref_from_text(text).has_value());
  }
}

TEST_CASE("relations have words that are read back") {
  for (const Relation relation : {Relation::saw, Relation::again, Relation::same, Relation::replaces})
    CHECK(relation_of(word_of(relation)) == relation);
  CHECK_FALSE(relation_of("").has_value());
  CHECK_FALSE(relation_of("heard").has_value());
}

TEST_CASE("the seal is the digest of salt and text") {
  SealedPart part;
  part.salt.fill('s');
  part.text = R"({"note":"x"})";
  CHECK(seal_digest(part) == sha256(as_bytes(std::string(16, 's') + part.text)));
}

TEST_CASE("typed text is mended so that an event can hold it") {
  CHECK(mend_text("Caf\xC3\xA9") == "Caf\xC3\xA9");
  CHECK(mend_text("a\tb\nc\x7F") == "a b c ");
  CHECK(mend_text(std::string_view("\0", 1)) == " ");
  CHECK(mend_text("Caf\xE9!") == "Caf\xEF\xBF\xBD!");
  // Unicode 15, section 3.9, "U+FFFD substitution of maximal subparts": one for each well-begun part.
  CHECK(mend_text("\xF0\x9F\x90 \xE2\x82") == "\xEF\xBF\xBD \xEF\xBF\xBD");
  CHECK(mend_text("\xC0\x80") == "\xEF\xBF\xBD\xEF\xBF\xBD");
  CHECK(mend_text("\xED\xA0\x80") == "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
}

TEST_CASE("values are read with defaults where another type stands") {
  const Value value(Value::Object{{"n", Value(5)}, {"s", Value("x")}, {"b", Value(true)}});
  CHECK(value.number("n") == 5);
  CHECK(value.number("s", 7) == 7);
  CHECK(value.text("s") == "x");
  CHECK(value.text("missing", "y") == "y");
  CHECK(value.flag("b"));
  CHECK(Value(3).find("n") == nullptr);
  Value changed = value;
  changed.set("n", 6).set("new", "z");
  CHECK(write_compact(changed) == R"({"n":6,"s":"x","b":true,"new":"z"})");
}

}  // namespace
