// How a reader names things: all of a kind at once as each by itself.
#include <algorithm>
#include <string>
#include <vector>

#include "core/read/reader.h"
#include "tests/support/catch.h"
#include "tests/support/world.h"

using namespace rackside::core;
using namespace rackside::tests;

TEST_CASE("all of a kind are named as each alone is, in the order of people") {
  World world;
  const auto add = [&](Kind kind, const std::string& code, Value::Object fields) {
    world.record(world.hub(), kind, {code}, {.own = Value::Object{{"set", std::move(fields)}}});
  };
  const auto place = [](const std::string& name) { return World::place(name); };
  add(Kind::place, place("x"), {{"short", "A-10"}});
  add(Kind::place, place("y"), {{"short", "A-9"}});
  add(Kind::place, place("z"), {{"short", 12}});  // a number, as other programs may write it
  add(Kind::place, place("unnamed"), {});
  add(Kind::rack, World::code(CodeKind::rack, "r").str(), {{"short", "A-9"}});

  Reader together(world.hub().book());
  std::vector<std::string> labels;
  for (const char* kind : {"place", "rack", "animal", "helper"}) {
    for (const Named& one : together.all(kind)) {
      Reader alone(world.hub().book());
      const Named named = alone.named(one.thing);
      CHECK(one.code == named.code);
      CHECK(one.kind == named.kind);
      CHECK(one.kind == kind);
      CHECK(one.label == named.label);
      labels.push_back(one.label);
    }
  }
  const std::string unnamed = place("unnamed");
  REQUIRE(labels.size() >= 5);
  labels.resize(5);
  CHECK(std::count(labels.begin(), labels.end(), unnamed) == 1);
  std::erase(labels, unnamed);
  CHECK(labels == std::vector<std::string>{"12", "A-9", "A-10", "A-9"});
}
