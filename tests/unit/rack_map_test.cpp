#include "core/read/rack_map.h"
#include "core/book/schema.h"
#include "tests/support/catch.h"
#include "tests/support/world.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {

/// A hub with two racks, A of three tubs and B of one.
class Racks {
 public:
  Racks() {
    for (const char* name : {"A", "B"}) record(Kind::rack, rack(name), {{"walk", 1}});
    for (int i = 1; i <= 3; ++i) add_tub("A", i);
    add_tub("B", 1);
  }

  static std::string rack(const std::string& name) { return World::code(CodeKind::rack, name).str(); }
  static std::string tub(const std::string& rack, int position) {
    return World::place(rack + std::to_string(position));
  }

  void set(const std::string& code, Value::Object fields) { record(Kind::edited, code, std::move(fields)); }
  void join(const std::string& code, const std::string& to) {
    world.record(world.hub(), Kind::coded, {code}, {.own = Value::Object{{"code", to}}});
  }

  /// Every tub as a map tells it that keeps itself, and as one that reads all anew.
  std::string kept() { return told(1); }
  std::string read_anew() {
    forget();
    return told(1000);
  }
  bool is_kept() {
    auto query = world.hub().book().database().prepare("SELECT 1 FROM due WHERE animal = ?");
    return query.bind(kRowOfPlaces).step();
  }

  World world;

 private:
  void record(Kind kind, const std::string& code, Value::Object fields) {
    world.record(world.hub(), kind, {code}, {.own = Value::Object{{"set", std::move(fields)}}});
  }
  void add_tub(const std::string& in, int position) {
    record(Kind::place, tub(in, position),
           {{"short", in + "-" + std::to_string(position)}, {"rack", rack(in)}, {"position", position}});
  }
  void forget() {
    world.hub().book().write(
        [&] { world.hub().book().database().prepare("DELETE FROM due WHERE animal = ?").bind(kRowOfPlaces).run(); });
  }
  std::string told(std::size_t worth_keeping) {
    Reader reader(world.hub().book());
    const RackMap map(reader, worth_keeping);
    std::string out;
    for (const auto& [in, position] : {std::pair("A", 1), {"A", 2}, {"A", 3}, {"B", 1}}) {
      const Thing place = reader.thing_of(tub(in, position)).value();
      const auto its_rack = map.rack_of(place);
      const RackMap::Spot spot = map.spot_of(place);
      out += std::string(!its_rack                                ? "nowhere"
                         : its_rack == reader.thing_of(rack("A")) ? "A"
                                                                  : "B") +
             " " + std::to_string(spot.position) + " " + spot.label;
      for (const Thing other : map.beside(place)) out += " next to " + map.spot_of(other).label;
      out += "; ";
    }
    return out;
  }
};

}  // namespace

TEST_CASE("the map of places tells rack, position, label and neighbours, the same when it was kept") {
  Racks racks;
  const std::string expected = "A 1 A-1 next to A-2; A 2 A-2 next to A-1 next to A-3; A 3 A-3 next to A-2; B 1 B-1; ";
  CHECK(racks.kept() == expected);
  CHECK(racks.is_kept());
  CHECK(racks.kept() == expected);
  CHECK(racks.read_anew() == expected);
  CHECK_FALSE(racks.is_kept());
}

TEST_CASE("a kept map of places goes with whatever it was read from") {
  Racks racks;
  const auto follows = [&](const std::string& what) {
    const std::string kept = racks.kept();
    INFO(kept);
    CHECK(kept.find(what) != std::string::npos);
    CHECK(kept == racks.read_anew());
    CHECK(racks.kept() == kept);  // kept again for the next step
    CHECK(racks.is_kept());
  };
  follows("A-1");
  racks.set(Racks::tub("A", 2), {{"short", "middle"}});
  follows("A 2 middle next to A-1 next to A-3");
  racks.set(Racks::tub("A", 3), {{"position", 9}});
  follows("A 9 A-3; ");
  racks.set(Racks::tub("B", 1), {{"rack", Racks::rack("A")}});
  follows("A 1 B-1 next to middle");
  racks.join(Racks::rack("B"), Racks::rack("A"));
  racks.set(Racks::tub("B", 1), {{"rack", Racks::rack("B")}});
  follows("A 1 B-1 next to middle");
  racks.set(Racks::tub("A", 1), {{"position", 0}});
  follows("0 A-1; ");
}

TEST_CASE("a map of places that names a rack nobody knows is not kept: the rack may come later") {
  Racks racks;
  racks.set(Racks::tub("B", 1), {{"rack", Racks::rack("C")}});
  CHECK(racks.kept().ends_with("nowhere 1 B-1; "));
  CHECK_FALSE(racks.is_kept());
}

TEST_CASE("a rack whose code is joined to another's carries its places with it at once") {
  Racks racks;
  CHECK(racks.kept().ends_with("B 1 B-1; "));  // beside nobody
  racks.join(Racks::rack("B"), Racks::rack("A"));
  const std::string kept = racks.kept();
  INFO(kept);
  CHECK(kept.find("A 1 B-1 next to A-2") != std::string::npos);
  CHECK(kept == racks.read_anew());
}

TEST_CASE("packed differences read back, whatever the numbers") {
  for (const std::int32_t number :
       {0, 1, -1, 63, 64, -64, -65, 8191, 8192, 1'000'000, INT32_MAX, INT32_MIN, INT32_MIN + 1}) {
    std::string packed;
    put_difference(number, packed);
    packed += 'x';
    ByteSpan rest = as_bytes(packed);
    CHECK(take_difference(rest) == number);
    CHECK(rest.size() == 1);
  }
  ByteSpan nothing;
  CHECK(take_difference(nothing) == 0);
}
