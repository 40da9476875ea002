#include "cli/scan/banner.h"
#include "cli/scan/guard.h"
#include "cli/scan/keyboard.h"
#include "tests/support/catch.h"

using namespace rackside::core;
using namespace rackside::cli;

namespace {

// What a scanner that types for a US keyboard makes of these characters on computers set otherwise. Computed from the
// symbol files of xkb-data 2.35.1 (sections basic; hu: standard), key by key, not from the table under test.
constexpr const char* kSent = "TABCDEFGHJKMNPQRSVWXYZ0123456789";
constexpr const char* kSentLink = "HTTPS://RACK-7.LOCAL:8443/";
struct Arrived {
  const char* country;
  const char* upper;
  const char* link;
};
constexpr Arrived kArrived[] = {
    {"German", "TABCDEFGHJKMNPQRSVWXZY0123456789", "HTTPSÖ--RACKß7.LOCALÖ8443-"},
    {"Swiss", "TABCDEFGHJKMNPQRSVWXZY0123456789", "HTTPSé--RACK'7.LOCALé8443-"},
    {"French", "TQBCDEFGHJK?NPARSVZXYWà&é\"'(-è_ç", "HTTPSM!!RQCK)è:LOCQLM_''\"!"},
    {"Belgian", "TQBCDEFGHJK?NPARSVZXYWà&é\"'(§è!ç", "HTTPSM==RQCK)è:LOCQLM!''\"="},
    {"Czech", "TABCDEFGHJKMNPQRSVWXZYé+ěščřžýáí", "HTTPS\"--RACK=ý.LOCAL\"áččš-"},
    {"Slovak", "TABCDEFGHJKMNPQRSVWXZYé+ľščťžýáí", "HTTPS\"--RACK=ý.LOCAL\"áččš-"},
    {"Hungarian", "TABCDEFGHJKMNPQRSVWXZYö123456789", "HTTPSÉ--RACKü7.LOCALÉ8443-"},
    {"Spanish", kSent, "HTTPSÑ--RACK'7.LOCALÑ8443-"},
    {"Nordic", kSent, "HTTPSÆ--RACK+7.LOCALÆ8443-"},
};

const KeyboardLayout& layout_of(const std::string& country) {
  for (const KeyboardLayout& layout : keyboard_layouts()) {
    if (layout.name.starts_with(country)) return layout;
  }
  FAIL("no layout " << country);
  return keyboard_layouts().front();
}

/// Every character of a text as it arrives, by the computed rows.
std::string arrived(const std::string& text, const Arrived& row) {
  const auto characters = [](std::string_view all) {
    std::vector<std::string> out;
    for (const char c : all) {
      if ((static_cast<unsigned char>(c) & 0xc0U) == 0x80U) {
        out.back() += c;
      } else {
        out.emplace_back(1, c);
      }
    }
    return out;
  };
  const auto keys = characters(row.upper);
  std::string out;
  for (const char c : text) out += keys.at(std::string_view(kSent).find(c));
  return out;
}

std::uint32_t seed = 1;
void numbers(std::span<std::uint8_t> out) {
  for (auto& byte : out) byte = static_cast<std::uint8_t>((seed = seed * 1664525 + 1013904223) >> 24);
}

}  // namespace

TEST_CASE("each layout is undone key by key") {
  for (const Arrived& row : kArrived) {
    CAPTURE(row.country);
    const KeyboardLayout& layout = layout_of(row.country);
    CHECK(undo_layout(row.upper, layout) == kSent);
    CHECK(undo_layout(row.link, layout) == kSentLink);
  }
}

TEST_CASE("a known code is read through every layout, bare and as a link, and only where the book knows it") {
  for (const Arrived& row : kArrived) {
    for (int i = 0; i < 50; ++i) {
      const Code code = Code::generate(CodeKind::place, numbers);
      const auto known = [&](const Code& one) { return one == code; };
      const std::string typed = arrived(code.str(), row);
      CAPTURE(row.country, code.str(), typed);
      if (typed != code.str()) {
        const auto reading = read_through_layouts(typed, known);
        REQUIRE(reading);
        CHECK(reading->code == code);
        CHECK_FALSE(read_through_layouts(typed, [](const Code&) { return false; }));
      }
      const auto link = read_through_layouts(row.link + typed, known);
      REQUIRE(link);
      CHECK(link->code == code);
      CHECK(rackside::tests::contains(layout_advice(link->layouts), row.country));
    }
  }
}

TEST_CASE("where two layouts give two known codes, none is guessed") {
  int tried = 0;
  for (int i = 0; i < 20000 && tried == 0; ++i) {
    // A code whose Y and Z swapped is a code again: the German reading and, with another character, the Nordic one.
    const Code code = Code::generate(CodeKind::animal, numbers);
    const std::string german = undo_layout(code.str(), layout_of("German"));
    const auto other = read_code(german);
    if (german == code.str() || !other.code) continue;
    ++tried;
    // As a link it may mean either: through the German layout, or through one that keeps Y and Z.
    const std::string typed = "HTTPSÖ--HUB-" + code.str();
    CHECK_FALSE(read_through_layouts(typed, [](const Code&) { return true; }));
    const auto one = read_through_layouts(typed, [&](const Code& candidate) { return candidate == code; });
    REQUIRE(one);
    CHECK(one->code == code);
  }
  CHECK(tried == 1);
}

TEST_CASE("digits typed with Shift are read") {
  const Code code = Code::generate(CodeKind::place, numbers);
  std::string typed;
  for (const char c : code.str()) typed += c >= '0' && c <= '9' ? ")!@#$%^&*("[c - '0'] : c;
  const auto reading = read_through_layouts(typed, [&](const Code& one) { return one == code; });
  REQUIRE(reading);
  CHECK(reading->code == code);
}

TEST_CASE("the same label and entry count once within ten seconds") {
  DoubleScanGuard guard(10'000);
  CHECK_FALSE(guard.is_double("A", "fed", 0));
  guard.recorded("A", "fed", 1'000);
  CHECK(guard.is_double("A", "fed", 10'999));
  CHECK_FALSE(guard.is_double("A", "fed", 11'000));
  CHECK_FALSE(guard.is_double("A", "shed", 2'000));
  CHECK_FALSE(guard.is_double("B", "fed", 2'000));
  guard.forget();
  CHECK_FALSE(guard.is_double("A", "fed", 2'000));
}

TEST_CASE("large letters keep to the width, and give way where a character has none") {
  CHECK(banner("C-14", 80).size() == 3);
  CHECK(banner("C-14", 20).empty());
  CHECK(banner("Ж-1", 80).empty());
  CHECK(banner("1", 80) == std::vector<std::string>{" ▄█   ", "  █   ", " ▀▀▀  "});
}
