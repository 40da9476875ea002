#include <cstdio>
#include <string>
#include <vector>

#include "core/log/event.h"
#include "core/read/prints.h"
#include "tests/support/catch.h"
#include "tests/support/world.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {

constexpr std::int64_t kMinute = 60'000;

std::string code_number(int number) {
  char text[16];
  std::snprintf(text, sizeof text, "A%09d", number);
  return text;
}

void print(World& world, Device& who, const std::string& on, const std::vector<std::string>& codes,
           const std::vector<std::string>& digests) {
  for (const Draft& draft : printed_drafts("animal", on, codes, digests))
    world.record(who, Kind::printed, draft.of, {.own = draft.own});
  world.pass(kMinute);
}

}  // namespace

TEST_CASE("the register of prints tells what each label said when it was printed last") {
  World world;
  print(world, world.hub(), "a4-3x8", {"A1", "A2"}, {"0123456789abcdef", "1123456789abcdef"});
  print(world, world.hub(), "57x32@203", {"A2"}, {"2223456789abcdef"});
  const auto last = last_prints(world.hub().book());
  REQUIRE(last.size() == 2);
  CHECK(last.at({"A1", "animal"}).on == "a4-3x8");
  CHECK(last.at({"A2", "animal"}).on == "57x32@203");
  CHECK(last.at({"A2", "animal"}).digest == "2223456789abcdef");
  const auto all = prints(world.hub().book());
  REQUIRE(all.size() == 2);
  CHECK(all[0].codes == std::vector<std::string>{"A2"});
  CHECK(all[0].at > all[1].at);
}

TEST_CASE("a print of thousands is several events, each small enough, and comes through a sync in any order") {
  World world;
  std::vector<std::string> codes;
  std::vector<std::string> digests;
  for (int i = 0; i < 3200; ++i) {
    codes.push_back(code_number(i));
    digests.push_back(print_digest(codes.back()));
  }
  CHECK(printed_drafts("animal", "a4-3x8", codes, digests).size() == 3);
  print(world, world.hub(), "a4-3x8", codes, digests);
  Device& cart = world.device("cart", Role::keeper);
  print(world, cart, "50x25@203", {codes[7]}, {print_digest("something else")});
  const auto arrived = world.check_arrivals({&world.hub(), &cart}, 4);
  const auto last = last_prints(*arrived);
  CHECK(last.size() == 3200);
  CHECK(last.at({codes[3199], "animal"}).digest == digests[3199]);
  CHECK(last.at({codes[7], "animal"}).digest == print_digest("something else"));
}

TEST_CASE("a print whose lists do not fit together is left out") {
  World world;
  world.record(world.hub(), Kind::printed, {"A1", "A2"},
               {.own = Value::Object{{"design", "animal"}, {"digests", Value::Array{"0123456789abcdef"}}}});
  world.record(world.hub(), Kind::printed, {"A1"}, {.own = Value::Object{{"design", "animal"}}});
  CHECK(prints(world.hub().book()).empty());
}

TEST_CASE("a print's digest is the beginning of what other programs reckon") {
  // Source: FIPS 180-4's example, SHA-256 of "abc".
  CHECK(print_digest("abc") == "ba7816bf8f01cfea");
}
