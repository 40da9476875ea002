// Many questions at once: chosen by rule, rack, helper and night, settled all or none.
#include "core/book/book.h"
#include "tests/support/hub_process.h"
#include "tests/support/typed_book.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;

namespace {

struct Doubts : TypedBook {
  Doubts() {
    run({"rack", "add", "A", "--places", "3"});
    run({"helper", "add", "Mira"});
    int tub = 0;
    for (const char* animal : {"C-1", "C-2", "C-3"}) {
      run({"animal", "add", animal, "--sex", "female", "--at", "A-0" + std::to_string(++tub)});
      run({"log", "died", animal, "--at", "3h ago"});
      run({"log", "fed", animal, "--by", tub == 1 ? "Mira" : "Robin"});
    }
  }
  std::size_t open(std::vector<std::string> filter = {}) {
    filter.insert(filter.begin(), "questions");
    return json(filter).size();
  }
};

}  // namespace

TEST_CASE("questions are chosen by rule, rack, helper and night, and settled together") {
  Doubts doubts;
  CHECK(doubts.open() == 3);
  CHECK(doubts.open({"--rule", "gone"}) == 3);
  CHECK(doubts.open({"--rule", "feeding"}) == 0);
  CHECK(doubts.open({"--helper", "Mira"}) == 1);
  CHECK(doubts.open({"--night", "2020-01-01"}) == 0);
  doubts.run({"settle", "all", "stands", "--helper", "Mira"});
  CHECK(doubts.open() == 2);
  doubts.run({"settle", "all", "1", "--rule", "gone"});
  CHECK(doubts.open() == 0);
}

TEST_CASE("an answer that one of many questions does not know settles none") {
  Doubts doubts;
  const auto fails = [&](const std::vector<std::string>& words, Fault fault) {
    CHECK(doubts.try_run(words).status == fault_info(fault).exit_status);
    CHECK(doubts.open() == 3);
  };
  fails({"settle", "all", "twice", "--rule", "gone"}, Fault::usage);
  fails({"settle", "all", "stands"}, Fault::usage);
  fails({"settle", "all", "1", "--night", "today"}, Fault::usage);
  fails({"settle", "all", "stands", "--rule", "nonsense"}, Fault::usage);
  fails({"settle", "all", "stands", "--rule", "laying"}, Fault::unknown_code);
}

TEST_CASE("what a wrong clock wrote is put right once the hub has checked it, and the correction is shown") {
  Doubts doubts;
  const std::string cart = (doubts.folder / "cart.book");
  {
    Book hub = Book::open(doubts.path);
    const KeyPair key = KeyPair::generate();
    const std::string id = to_hex(device_id_of(key.public_key()));
    hub.record_one({.kind = Kind::admitted, .own = Value::Object{{"device", id}, {"role", "helper"}}}, clock_now());
    constexpr std::int64_t kAhead = 3LL * 24 * 60 * 60 * 1000;
    const auto ahead = [&] {
      ClockReading now = clock_now();
      now.wall_ms += kAhead;
      return now;
    };
    Book book = Book::create_member(cart, hub.collection(), key, "", ahead());
    const std::string animal = nlohmann::json::parse(doubts.run({"--json", "show", "C-2"}).out).at("code");
    book.record_one({.kind = Kind::shed, .of = {animal}}, ahead());
    book.prepare_sync(ahead());
    std::vector<Segment> segments;
    book.missing_for({}, [&](Segment&& one) {
      segments.push_back(std::move(one));
      return true;
    });
    hub.merge(segments);
    const Head head = book.heads().front();
    hub.check_clock({head.device, head.seq, shorten(head.hash)}, -kAhead, clock_now());
  }
  const Run told = doubts.run({"history", "C-2"});
  INFO(told.out);
  CHECK(told.out.find("clock 3 days ahead, put right") != std::string::npos);
}
