// A sync that breaks off at any byte, in a file, a pipe or over HTTP, leaves whole signed segments only, says so, and
// the next sync completes it.
#include <signal.h>
#include <unistd.h>

#include <filesystem>
#include <mutex>
#include <thread>

#include "sync/http/server.h"
#include "sync/hub/http_peer.h"
#include "sync/protocol/bundle.h"
#include "sync/protocol/pipe.h"
#include "tests/support/catch.h"
#include "tests/support/cuts.h"
#include "tests/support/cutting_way.h"
#include "tests/support/program.h"
#include "tests/support/world.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;

namespace {

constexpr Instant kBegin = 1'790'877'600'000;
constexpr std::size_t kFeedings = 24;

ClockReading at(int minute) {
  const Instant now = kBegin + minute * 60'000;
  return {now, 1, now};
}
ClockReading sync_clock() {
  return at(300);
}

std::vector<Draft> feedings(const std::string& name) {
  std::vector<Draft> out(4, Draft{.kind = Kind::fed, .of = {World::animal(name)}});
  out.push_back({.kind = Kind::noted, .of = {World::animal(name)}, .text = "{\"note\":\"nach der Häutung\"}"});
  return out;
}

void admit(Book& hub, const std::string& name) {
  const std::string device = to_hex(device_id_of(World::key(name).public_key()));
  hub.record_one({.kind = Kind::admitted, .own = Value::Object{{"device", device}, {"role", "helper"}}}, at(0));
}

std::size_t feedings_in(Book& book) {
  auto query = book.database().prepare("SELECT count(*) FROM event WHERE bytes LIKE '%\"kind\":\"fed\"%'");
  return query.step() ? static_cast<std::size_t>(query.integer(0)) : 0;
}

void exchange_in_memory(Book& leader, Book& other) {
  sync::LocalPeer peer({other, "hub.book", sync_clock});
  sync::exchange(leader, "aisle.book", peer, sync_clock);
}

/// Two books that have met, then each worked on: the state that every cut starts from, as files.
class Pair {
 public:
  Pair() {
    Book::Founding founding{.keeper = "Robin",
                            .zone = {{{0, 60}}},
                            .root = World::key("root"),
                            .device = World::key("hub"),
                            .keeper_code = World::code(CodeKind::helper, "keeper")};
    Book hub = Book::create(folder_ / "hub.start", founding, at(0));
    for (const char* name : {"aisle", "bench", "nursery", "porch", "attic"}) admit(hub, name);
    Book aisle = Book::create_member(folder_ / "aisle.start", hub.collection(), World::key("aisle"), "", at(0));
    exchange_in_memory(aisle, hub);
    // A segment a device: each side brings the other three.
    hub.record(feedings("hub"), at(20));
    aisle.record(feedings("aisle"), at(20));
    for (const char* name : {"bench", "nursery"}) relay(hub, name);
    for (const char* name : {"porch", "attic"}) relay(aisle, name);
    aisle.tidy();
    hub.tidy();
  }

  Book hub() { return copy("hub"); }
  Book aisle() { return copy("aisle"); }
  std::string file(const std::string& name) const { return folder_ / name; }

 private:
  static void relay(Book& book, const std::string& name) {
    Book other = Book::create_member(":memory:", book.collection(), World::key(name), "", at(0));
    other.record(feedings(name), at(20));
    sync::LocalPeer peer({other, name, [] { return at(30); }});
    sync::exchange(book, "relay", peer, [] { return at(30); });
  }
  Book copy(const std::string& name) {
    const std::string path = folder_ / (name + ".book");
    for (const char* companion : {"", "-wal", "-shm", "-lock"}) std::filesystem::remove(path + companion);
    std::filesystem::copy_file(folder_ / (name + ".start"), path);
    return Book::open(path);
  }

  Folder folder_{Folder::On::memory};
};

/// Of others' devices, only what stands before a signature.
bool holds_whole_segments_only(Book& book) {
  book.refresh();
  for (const auto& [id, branch] : book.log().branches()) {
    const bool own = book.log().device_name(branch.device) == book.device();
    if (!own && book.log().last_signed(id, branch.head_seq) != branch.head_seq) return false;
  }
  return book.check().problems.empty();
}

/// What must hold after any cut, whatever came through.
void check_and_complete(Book& leader, Book& other) {
  CHECK(holds_whole_segments_only(leader));
  CHECK(holds_whole_segments_only(other));
  exchange_in_memory(leader, other);
  CHECK(leader.digest() == other.digest());
  CHECK(feedings_in(leader) == kFeedings);
  CHECK(feedings_in(other) == kFeedings);
  CHECK(leader.heads() == other.heads());
}

/// What an exchange came to: empty when it got through, else what it said.
std::string said_by(Book& leader, sync::Peer& peer) {
  try {
    sync::exchange(leader, "aisle.book", peer, sync_clock);
    return "";
  } catch (const Error& error) {
    return error.what();
  }
}

struct Attempt {
  std::string said;
  std::size_t carried = 0;  ///< bytes of the direction that was cut
};

Attempt over_a_pipe(Book& leader, Book& other, Said cut, std::size_t most) {
  CutPipe way(cut, most);
  std::thread server([&] {
    sync::Responder responder(other, "hub.book", sync_clock);
    try {
      sync::serve_pipe(responder, way.other, way.other);
    } catch (const Error&) {
      // It was cut, as it should be.
    }
    ::close(way.other);
  });
  Attempt out;
  {
    sync::PipePeer peer(way.leader, way.leader);
    out.said = said_by(leader, peer);
  }
  ::close(way.leader);
  server.join();
  out.carried = way.end();
  return out;
}

/// The hub's routes of an exchange, open to everyone on loopback: no token, which is tested elsewhere.
class OpenHub {
 public:
  using Compress = sync::http::Response::Compress;
  OpenHub(Book& book, Compress compress) : responder_(book, "hub.book", sync_clock) {
    using sync::http::Request;
    route("/v1/heads",
          [&](const Request& asked) { return to_text(responder_.heads(sync::vector_from_text(asked.body))); });
    route("/v1/ladders",
          [&](const Request& asked) { return to_text(responder_.ladders(sync::vector_from_text(asked.body))); });
    route("/v1/push", [&](const Request& asked) { return to_text(responder_.push(asked.body)); });
    server_.route("POST", "/v1/pull", [this, compress](const Request& asked) {
      sync::http::Response out;
      out.compress = compress;
      out.stream = [this, vector = sync::vector_from_text(asked.body)](const sync::http::Sink& sink) {
        const std::lock_guard lock(mutex_);
        responder_.pull(vector, sink);
        return false;
      };
      return out;
    });
    server_.listen("127.0.0.1", 0);
  }
  int port() const { return server_.bound_port(); }

 private:
  template <typename Answer>
  void route(const std::string& path, const Answer& answer) {
    server_.route("POST", path, [this, answer](const sync::http::Request& asked) {
      const std::lock_guard lock(mutex_);
      sync::http::Response out;
      out.body = answer(asked);
      return out;
    });
  }

  std::mutex mutex_;
  sync::Responder responder_;
  sync::http::Server server_{{.exposure = sync::http::Exposure::plain_loopback}};
};

Attempt over_http(Book& leader, Book& other, Said cut, std::size_t most, OpenHub::Compress compress) {
  OpenHub hub(other, compress);
  CutPort way(hub.port(), cut, most);
  Attempt out;
  {
    const auto url = sync::http::parse_url("http://127.0.0.1:" + std::to_string(way.port()));
    sync::hub::HttpPeer peer{sync::http::Client(url, sync::http::NoPin{})};
    out.said = said_by(leader, peer);
  }
  out.carried = way.end();
  return out;
}

Attempt over_plain_http(Book& leader, Book& other, Said cut, std::size_t most) {
  return over_http(leader, other, cut, most, OpenHub::Compress::never);
}
Attempt over_compressed_http(Book& leader, Book& other, Said cut, std::size_t most) {
  return over_http(leader, other, cut, most, OpenHub::Compress::when_taken);
}

using Transport = Attempt (*)(Book&, Book&, Said, std::size_t);

void cut_everywhere(Transport transport, Said cut, std::size_t more) {
  Pair pair;
  std::size_t all = 0;
  {
    Book leader = pair.aisle();
    Book other = pair.hub();
    const Attempt whole = transport(leader, other, cut, SIZE_MAX);
    CHECK(whole.said == "");
    all = whole.carried;
    REQUIRE(all > 2000);
    check_and_complete(leader, other);
  }
  std::size_t partly = 0;
  for (const std::size_t most : cuts(0, all, {0, all}, more)) {
    Book leader = pair.aisle();
    Book other = pair.hub();
    const std::size_t before = feedings_in(leader);
    const Attempt attempt = transport(leader, other, cut, most);
    INFO("cut after byte " << most << " of " << all << ": " << attempt.said);
    const std::size_t now = feedings_in(leader);
    if (attempt.said.empty()) CHECK(now == kFeedings);
    if (now > before && now < kFeedings) {
      ++partly;
      CHECK(contains(attempt.said, "that came whole and signed before that: kept"));
    }
    check_and_complete(leader, other);
  }
  if (cut == Said::answered) CHECK(partly > 0);
}

}  // namespace

TEST_CASE("a bundle cut at any byte gives its whole segments, says how much, and is completed by the whole one",
          "[sync][truncation]") {
  Pair pair;
  const std::string path = pair.file("some.bundle");
  std::string whole;
  {
    Book hub = pair.hub();
    sync::write_bundle(hub, path, sync::BundleOf::everything, sync_clock);
    whole = read_text(path);
  }
  std::size_t partly = 0;
  // Without its last line feed alone, it is whole.
  for (const std::size_t cut : cuts(0, whole.size() - 1, line_starts(whole), 100)) {
    INFO("cut at byte " << cut << " of " << whole.size());
    Book reader = pair.aisle();
    const std::size_t before = feedings_in(reader);
    write_text(path, whole.substr(0, cut));
    std::string said;
    try {
      sync::read_bundle(reader, path);
    } catch (const Error& error) {
      said = error.what();
    }
    const std::size_t now = feedings_in(reader);
    CHECK(said != "");
    CHECK((now - before) % 4 == 0);
    if (now > before) {
      ++partly;
      CHECK(contains(said, "breaks off before its end"));
      CHECK(contains(said, "that came whole and signed before that: kept"));
    }
    CHECK(holds_whole_segments_only(reader));
    write_text(path, whole);
    sync::read_bundle(reader, path);
    CHECK(feedings_in(reader) == kFeedings);
    CHECK(holds_whole_segments_only(reader));
    CHECK(sync::read_bundle(reader, path).events == 0);
  }
  CHECK(partly > 5);
}

TEST_CASE("an exchange over a pipe that breaks at any byte is completed by the next", "[sync][truncation]") {
  ::signal(SIGPIPE, SIG_IGN);  // as the program does
  cut_everywhere(over_a_pipe, Said::answered, 60);
  cut_everywhere(over_a_pipe, Said::asked, 60);
}

TEST_CASE("an exchange over HTTP that breaks at any byte is completed by the next", "[sync][truncation]") {
  ::signal(SIGPIPE, SIG_IGN);
  cut_everywhere(over_plain_http, Said::answered, 60);
  cut_everywhere(over_plain_http, Said::asked, 60);
}

TEST_CASE("an exchange over HTTP whose answer is compressed is completed by the next", "[sync][truncation]") {
  ::signal(SIGPIPE, SIG_IGN);
  cut_everywhere(over_compressed_http, Said::answered, 60);
}
