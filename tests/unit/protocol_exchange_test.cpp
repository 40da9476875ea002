// Two books tell each other what they hold: in memory, through a pipe, through a file.
#include <sys/socket.h>
#include <unistd.h>

#include <filesystem>
#include <thread>

#include "sync/protocol/bundle.h"
#include "sync/protocol/pipe.h"
#include "tests/support/catch.h"
#include "tests/support/world.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;
using sync::SyncResult;

namespace {

sync::ClockSource clock_of(World& world, Device& device) {
  return [&world, &device] { return device.clock(world.now); };
}

SyncResult by_memory(World& world, Device& mine, Device& other) {
  sync::LocalPeer peer({other.book(), other.name(), clock_of(world, other)});
  return sync::exchange(mine.book(), mine.name(), peer, clock_of(world, mine));
}

/// A pair of connected descriptors and a thread that answers at the far end.
SyncResult by_pipe(World& world, Device& mine, Device& other) {
  int ends[2];
  REQUIRE(::socketpair(AF_UNIX, SOCK_STREAM, 0, ends) == 0);
  std::thread server([&] {
    sync::Responder responder(other.book(), other.name(), clock_of(world, other));
    sync::serve_pipe(responder, ends[1], ends[1]);
    ::close(ends[1]);
  });
  sync::PipePeer peer(ends[0], ends[0]);
  const SyncResult result = sync::exchange(mine.book(), mine.name(), peer, clock_of(world, mine));
  peer.leave();
  server.join();
  ::close(ends[0]);
  return result;
}

void record_some(World& world, Device& device, int count) {
  for (int i = 0; i < count; ++i) {
    world.record(device, Kind::fed, {World::animal(device.name() + std::to_string(i % 7))});
    world.pass(1000);
  }
}

std::string temporary(const std::string& name) {
  return (std::filesystem::temp_directory_path() / ("rackside-" + std::to_string(::getpid()) + "-" + name)).string();
}

}  // namespace

TEST_CASE("an exchange leaves two books with one digest, and a second one writes nothing", "[protocol]") {
  const auto way = GENERATE(&by_memory, &by_pipe);
  World world;
  Device& aisle = world.device("aisle");
  record_some(world, aisle, 700);  // three segments
  record_some(world, world.hub(), 300);
  const SyncResult first = way(world, aisle, world.hub());
  CHECK(first.sent >= 700);
  CHECK(first.received >= 300);
  CHECK(aisle.book().digest() == world.hub().book().digest());
  const Digest before = aisle.book().digest();
  const SyncResult second = way(world, aisle, world.hub());
  CHECK(second.round_trips == 1);
  CHECK(second.sent + second.received + second.repeated == 0);
  CHECK(aisle.book().digest() == before);
  CHECK(world.hub().book().digest() == before);
}

TEST_CASE("a clock check that the hub writes comes back in the same exchange", "[protocol]") {
  World world;
  Device& aisle = world.device("aisle");
  aisle.clock_error_ms = 3'600'000;
  const EventRef fed = world.record(aisle, Kind::fed, {World::animal("Ash")});
  const SyncResult result = by_memory(world, aisle, world.hub());
  CHECK(result.received > 0);
  CHECK(account(aisle.book(), fed).sure);
  CHECK(account(aisle.book(), fed).observed == world.now);
  CHECK(aisle.book().digest() == world.hub().book().digest());
}

TEST_CASE("the hub as the asking side checks the other's clock too", "[protocol]") {
  World world;
  Device& aisle = world.device("aisle");
  aisle.clock_error_ms = -90'000;
  const EventRef fed = world.record(aisle, Kind::fed, {World::animal("Ash")});
  by_memory(world, world.hub(), aisle);
  CHECK(account(world.hub().book(), fed).observed == world.now);
  CHECK(aisle.book().digest() == world.hub().book().digest());
}

TEST_CASE("events travel through a third book", "[protocol]") {
  World world;
  Device& one = world.device("one");
  Device& two = world.device("two");
  record_some(world, one, 20);
  record_some(world, two, 20);
  by_memory(world, one, two);
  by_memory(world, two, world.hub());
  by_memory(world, world.hub(), one);
  by_memory(world, two, one);
  CHECK(one.book().digest() == two.book().digest());
  CHECK(one.book().digest() == world.hub().book().digest());
}

TEST_CASE("a second line of one device is found by ladders and kept by both", "[protocol]") {
  World world;
  Device& phone = world.device("phone");
  Device& twin = world.device("other");
  record_some(world, phone, 40);
  by_memory(world, phone, world.hub());
  // A restored backup: a second book with the phone's key and its first 40 entries.
  Book restored = Book::create_member(":memory:", world.hub().book().collection(), World::key("phone"), "",
                                      {world.now, 77, world.now});
  Device copy(std::move(restored), "copy");
  record_some(world, copy, 15);
  const SyncResult found = by_memory(world, copy, world.hub());
  CHECK(found.forked == std::vector<DeviceId>{phone.book().device()});
  CHECK(copy.book().digest() == world.hub().book().digest());
  record_some(world, phone, 9);
  by_memory(world, phone, twin);
  by_memory(world, twin, copy);
  by_memory(world, phone, world.hub());
  by_memory(world, twin, world.hub());
  by_memory(world, copy, world.hub());
  by_memory(world, phone, world.hub());
  by_memory(world, twin, world.hub());
  // The copies have met: each went on as a device of its own, and that has to go round as well.
  for (int round = 0; round < 2; ++round) {
    for (Device* device : {&copy, &phone, &twin}) by_memory(world, *device, world.hub());
  }
  CHECK(copy.book().device() != phone.book().device());
  const Digest all = world.hub().book().digest();
  CHECK(phone.book().digest() == all);
  CHECK(copy.book().digest() == all);
  CHECK(twin.book().digest() == all);
  CHECK(by_memory(world, copy, phone).round_trips == 1);
}

TEST_CASE("a program of another version of the protocol is told who must be renewed, at both ends", "[protocol]") {
  World world;
  Book& hub = world.hub().book();
  const std::string newer = R"({"rackside":2,"collection":")" + to_hex(hub.collection()) + R"("})";
  sync::StreamReader stream(hub.collection(), [](std::vector<Segment>&&) {});
  const std::string advice = "install the newer Rackside where version 1 is spoken";
  try {
    stream.line(newer);
    FAIL("it was taken");
  } catch (const Error& error) {
    CHECK(error.fault() == Fault::protocol);
    CHECK(contains(error.what(), advice));
  }
  // At the other end of a pipe, the newer program reads the same words.
  int ends[2];
  REQUIRE(::socketpair(AF_UNIX, SOCK_STREAM, 0, ends) == 0);
  sync::PipeLines far(ends[0], ends[0]);
  far.write("{\"ask\":\"heads\"}\n" + newer + "\n");
  sync::Responder responder(hub, "hub", clock_of(world, world.hub()));
  const Digest before = hub.digest();
  CHECK_THROWS_AS(sync::serve_pipe(responder, ends[1], ends[1]), Error);
  CHECK(contains(far.next().value_or(""), advice));
  CHECK(hub.digest() == before);
  ::close(ends[0]);
  ::close(ends[1]);
}

TEST_CASE("books of two collections are never united, and both names are said", "[protocol]") {
  World world;
  Book::Founding founding{.keeper = "",
                          .zone = {{{0, 60}}},
                          .root = World::key("other root"),
                          .device = World::key("other hub"),
                          .keeper_code = World::code(CodeKind::helper, "keeper")};
  Device stranger(Book::create(":memory:", founding, {world.now, 1, world.now}), "the stranger's book");
  Device& aisle = world.device("aisle");
  const Digest mine = aisle.book().digest();
  const Digest theirs = stranger.book().digest();
  try {
    by_memory(world, aisle, stranger);
    FAIL("two collections were united");
  } catch (const Error& error) {
    CHECK(error.fault() == Fault::other_collection);
    CHECK(std::string(error.what()).find("aisle") != std::string::npos);
    CHECK(std::string(error.what()).find("the stranger's book") != std::string::npos);
  }
  CHECK(stranger.book().digest() == theirs);
  CHECK(aisle.book().digest().state == mine.state);
}

TEST_CASE("a bundle carries everything, or one device's outbox, and twice is once", "[protocol]") {
  World world;
  Device& aisle = world.device("aisle");
  record_some(world, aisle, 600);
  const std::string path = temporary("outbox.bundle");
  const auto what = GENERATE(sync::BundleOf::everything, sync::BundleOf::own_device);
  const auto written = sync::write_bundle(aisle.book(), path, what, clock_of(world, aisle));
  CHECK(written.events >= 600);
  const auto read = sync::read_bundle(world.hub().book(), path);
  CHECK(read.events >= 600);
  CHECK(read.events + read.known == written.events);
  CHECK(sync::read_bundle(world.hub().book(), path).events == 0);
  by_memory(world, aisle, world.hub());
  CHECK(aisle.book().digest() == world.hub().book().digest());
  std::filesystem::remove(path);
}

namespace {

struct Broken {};

/// A way that breaks at one chosen moment: before a request arrives, within the answer, or before it comes back.
class BreakingPeer : public sync::Peer {
 public:
  BreakingPeer(sync::Peer& peer, int moments_left) : peer_(peer), moments_left_(moments_left) {}

  sync::VectorMessage heads(const sync::VectorMessage& mine) override {
    moment();
    auto answer = peer_.heads(mine);
    moment();
    return answer;
  }
  sync::VectorMessage ladders(const sync::VectorMessage& asked) override {
    moment();
    auto answer = peer_.ladders(asked);
    moment();
    return answer;
  }
  void pull(const sync::VectorMessage& mine, sync::StreamReader& reader) override {
    moment();
    // Merges every segment at once, so that a break finds some of them stored.
    sync::StreamReader watcher(mine.collection, [&](std::vector<Segment>&& batch) {
      for (const Segment& segment : batch) give(segment, mine.collection, reader);
    });
    peer_.pull(mine, watcher);
    moment();
    if (given_ == 0) return;  // nothing came: the reader says so itself
    sync::each_line(sync::stream_end(static_cast<std::size_t>(given_)),
                    [&](std::string_view line) { reader.line(line); });
  }
  sync::Receipt push(const std::string& body) override {
    moment();
    const auto receipt = peer_.push(body);
    moment();
    return receipt;
  }

 private:
  void give(const Segment& segment, const CollectionId& collection, sync::StreamReader& reader) {
    std::string text = given_ == 0 ? sync::stream_head(collection) : "";
    sync::append_segment(text, segment);
    ++given_;
    int lines = 0;
    sync::each_line(text, [&](std::string_view line) {
      if (++lines % 40 == 0) moment();
      reader.line(line);
    });
  }
  void moment() {
    if (moments_left_-- == 0) throw Broken{};
  }

  sync::Peer& peer_;
  int moments_left_;
  std::int64_t given_ = 0;
};

/// Whether the exchange got through before the break.
bool through(World& world, Device& mine, Device& other, int moments) {
  sync::LocalPeer peer({other.book(), other.name(), clock_of(world, other)});
  BreakingPeer breaking(peer, moments);
  try {
    sync::exchange(mine.book(), mine.name(), breaking, clock_of(world, mine));
    return true;
  } catch (const Broken&) {
    return false;
  }
}

std::size_t feedings(Book& book) {
  auto query = book.database().prepare("SELECT count(*) FROM event WHERE bytes LIKE '%\"kind\":\"fed\"%'");
  return query.step() ? static_cast<std::size_t>(query.integer(0)) : 0;
}

}  // namespace

TEST_CASE("an exchange broken at any moment is taken up by the next one", "[protocol][slow]") {
  int moments = 0;
  for (bool whole = false; !whole; ++moments) {
    World world;
    Device& aisle = world.device("aisle");
    record_some(world, aisle, 600);
    record_some(world, world.hub(), 600);
    whole = through(world, aisle, world.hub(), moments);
    INFO("broken at moment " << moments);
    record_some(world, aisle, 3);  // work goes on meanwhile
    by_memory(world, aisle, world.hub());
    CHECK(aisle.book().digest() == world.hub().book().digest());
    CHECK(feedings(aisle.book()) == 1203);
    CHECK(feedings(world.hub().book()) == 1203);
    CHECK(aisle.book().check().problems == std::vector<std::string>{});
    CHECK(by_memory(world, aisle, world.hub()).round_trips == 1);
  }
  CHECK(moments > 12);
}
