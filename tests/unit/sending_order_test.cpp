// In which order a book sends what a peer lacks. Any order is right; this one spares the reader from folding an
// animal's life again for whatever comes late (sync/PROTOCOL.md, section 2).
#include <algorithm>

#include "core/log/event.h"
#include "tests/support/catch.h"
#include "tests/support/world.h"

using namespace rackside;
using namespace rackside::core;
using tests::Device;
using tests::World;

namespace {

struct Sent {
  DeviceId device{};
  Instant begins = 0;  ///< its first event's clock
};

std::vector<Sent> sent_by(Book& book) {
  std::vector<Sent> out;
  book.missing_for({}, [&](Segment&& segment) {
    out.push_back({segment.device, decode_event(segment.events.front()).event->clock.wall_ms});
    return true;
  });
  return out;
}

}  // namespace

TEST_CASE("what a peer lacks comes abreast by time, not device after device", "[exchange]") {
  constexpr int kEach = 3 * static_cast<int>(kSegmentEvents);
  World world;
  Device& north = world.device("north");
  Device& south = world.device("south");
  const std::vector<std::string> of{World::animal("Basil")};
  for (int i = 0; i < kEach; ++i) {
    world.pass(kMinute);
    world.record(north, Kind::watered, of);
    world.record(south, Kind::cleaned, of);
  }
  world.sync_all();

  std::vector<Sent> of_phones;
  for (const Sent& one : sent_by(world.hub().book())) {
    if (one.device == north.book().device() || one.device == south.book().device()) of_phones.push_back(one);
  }
  REQUIRE(of_phones.size() >= 6);
  std::size_t turns = 0;
  for (std::size_t i = 1; i < of_phones.size(); ++i) {
    CHECK(of_phones[i].begins >= of_phones[i - 1].begins);
    turns += of_phones[i].device != of_phones[i - 1].device;
  }
  CHECK(turns >= 4);
}

TEST_CASE("a clock's own line goes a day ahead, so that its checks come before what they put right", "[exchange]") {
  World world;
  Device& phone = world.device("north");
  phone.clock_error_ms = -kHour;
  const std::vector<std::string> of{World::animal("Basil")};
  for (int i = 0; i < 2 * static_cast<int>(kSegmentEvents); ++i) {
    world.pass(kMinute);
    world.record(world.hub(), Kind::watered, of);
    world.record(phone, Kind::cleaned, of);
  }
  world.sync_all();

  const std::vector<Sent> all = sent_by(world.hub().book());
  const auto is_phones = [&](const Sent& one) { return one.device == phone.book().device(); };
  const auto first = std::find_if(all.begin(), all.end(), is_phones);
  REQUIRE(first != all.end());
  CHECK(std::all_of(first, all.end(), is_phones));  // nine hours of the hub's lie within its lead
}
