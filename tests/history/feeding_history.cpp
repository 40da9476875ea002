#include "tests/support/catch.h"
#include "tests/support/world.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {

const std::string kAnimal = World::animal("one");

/// Three helpers whose clocks the hub has checked that day.
struct ThreeHelpers {
  World world;
  Device& a = world.device("a");
  Device& b = world.device("b");
  Device& c = world.device("c");
  std::vector<Device*> all{&world.hub(), &a, &b, &c};
  void check_clocks() { world.sync_all(); }
};

}  // namespace

TEST_CASE("history 1: fed, refused and fed within half an hour, unawares, is a tub to check") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.pass(8 * kMinute);
  h.world.record(h.b, Kind::refused, {kAnimal});
  h.world.pass(8 * kMinute);
  h.world.record(h.c, Kind::fed, {kAnimal});
  auto book = h.world.check_arrivals(h.all);
  const auto seen = matters(*book, RuleId::feeding, kAnimal);
  REQUIRE(seen.size() == 1);
  CHECK(seen[0].outcome == "check-tub");
  CHECK(seen[0].asks);
  CHECK(seen[0].members.size() == 3);
}

TEST_CASE("history 1: with checked clocks an hour apart the last word is the outcome") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.pass(kHour);
  h.world.record(h.b, Kind::refused, {kAnimal});
  auto before = h.world.check_arrivals(h.all);
  CHECK(matters(*before, RuleId::feeding, kAnimal).at(0).outcome == "refused");
  h.world.pass(kHour);
  h.world.record(h.c, Kind::fed, {kAnimal});
  auto book = h.world.check_arrivals(h.all);
  const auto seen = matters(*book, RuleId::feeding, kAnimal);
  CHECK(seen.at(0).outcome == "ate");
  CHECK_FALSE(seen.at(0).asks);
}
