// A book whose write-ahead log breaks off anywhere in its last transaction holds that transaction whole or not at all,
// opens without a word, and goes on. The frames' layout: SQLite's "WAL-mode File Format" (sqlite.org/walformat.html).
#include <filesystem>
#include <map>

#include "tests/support/catch.h"
#include "tests/support/cuts.h"
#include "tests/support/program.h"
#include "tests/support/world.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;

namespace {

constexpr std::size_t kWalHeader = 32;
constexpr std::size_t kFrame = 24 + 4096;
constexpr Instant kBegin = 1'790'877'600'000;

ClockReading at(int minute) {
  const Instant now = kBegin + minute * 60'000;
  return {now, 1, now};
}

/// What stands on the disk: the book, its write-ahead log, and what they hold.
struct OnDisk {
  std::string book;
  std::string log;
  Digest digest;
};

OnDisk state_of(const std::string& path) {
  OnDisk out;
  out.digest = Book::open(path).digest();
  out.book = read_text(path);
  out.log = read_text(path + "-wal");
  return out;
}

/// A book with some life in it, all of it in its file.
void found(const std::string& path) {
  Book::Founding founding{.keeper = "Robin",
                          .zone = {{{0, 60}}},
                          .root = World::key("root"),
                          .device = World::key("hub"),
                          .keeper_code = World::code(CodeKind::helper, "keeper")};
  Book book = Book::create(path, founding, at(0));
  const std::string device = to_hex(device_id_of(World::key("aisle").public_key()));
  book.record({{.kind = Kind::admitted, .own = Value::Object{{"device", device}, {"role", "helper"}}},
               {.kind = Kind::animal,
                .of = {World::animal("maple")},
                .own = Value::Object{{"set", Value::Object{{"name", "maple"}}}}},
               {.kind = Kind::moved, .of = {World::animal("maple")}, .place = World::place("a1")},
               {.kind = Kind::fed, .of = {World::animal("maple")}}},
              at(1));
  book.tidy();
}

Draft fed() {
  return {.kind = Kind::fed, .place = World::place("a1"), .shown = {World::animal("maple")}};
}

/// Several events that depend on each other: half of them would be a lie.
void record_several(Book& book) {
  book.record({{.kind = Kind::moved, .of = {World::animal("maple")}, .place = World::place("b2")},
               fed(),
               {.kind = Kind::noted, .of = {World::animal("maple")}, .text = "{\"note\":\"moved, then fed\"}"},
               {.kind = Kind::shed, .of = {World::animal("maple")}}},
              at(30));
}

/// What another device tells, in two segments of one batch.
void merge_two(Book& book) {
  Book aisle = Book::create_member(":memory:", book.collection(), World::key("aisle"), "", at(2));
  aisle.record(std::vector<Draft>(3, fed()), at(20));
  aisle.prepare_sync(at(21));
  aisle.record({{.kind = Kind::died, .of = {World::animal("maple")}}}, at(40));
  aisle.prepare_sync(at(41));
  std::vector<Segment> all;
  aisle.missing_for({}, [&](Segment&& segment) {
    all.push_back(std::move(segment));
    return true;
  });
  REQUIRE(book.merge(all).stored == 5);
}

using Work = std::function<void(Book&)>;
const std::map<std::string, Work>& works() {
  static const std::map<std::string, Work> all = {
      {"one entry", [](Book& book) { book.record_one(fed(), at(30)); }},
      {"several entries", record_several},
      {"entries of another device", merge_two},
      {"a signature", [](Book& book) { book.prepare_sync(at(30)); }},
  };
  return all;
}

class Cutter {
 public:
  explicit Cutter(const Work& work) {
    found(source_);
    Book::open(source_).record_one(fed(), at(10));  // an older transaction in the write-ahead log
    before_ = state_of(source_);
    {
      Book book = Book::open(source_);
      work(book);
    }
    after_ = state_of(source_);
    REQUIRE(before_.book == after_.book);
    REQUIRE(after_.log.size() > before_.log.size());
    REQUIRE(after_.log.compare(0, before_.log.size(), before_.log) == 0);
  }

  std::vector<std::size_t> places(std::size_t more) const {
    std::vector<std::size_t> edges;
    for (std::size_t frame = kWalHeader; frame <= after_.log.size(); frame += kFrame) {
      edges.push_back(frame);
      edges.push_back(frame + 24);
    }
    return cuts(before_.log.size(), after_.log.size(), edges, more);
  }

  enum class Tail { missing, zeros };
  /// Opens what remains. Whether the last transaction is in it.
  bool whole_after(std::size_t cut, Tail tail, bool go_on) {
    std::string log = after_.log.substr(0, cut);
    if (tail == Tail::zeros) log.resize(after_.log.size(), '\0');
    for (const char* companion : {"-shm", "-lock"}) std::filesystem::remove(copy_ + companion);
    write_text(copy_, after_.book);
    write_text(copy_ + "-wal", log);
    Book book = Book::open(copy_);
    const CheckReport report = book.check();
    const bool whole = report.digest == after_.digest;
    const bool absent = report.digest == before_.digest;
    // A signature is no part of the digests: with it, and without it, they are the same.
    if (report.problems.empty() && (whole || absent)) {
      if (go_on) use(book);
      return whole;
    }
    INFO("cut at byte " << cut << " of " << after_.log.size());
    CHECK(report.problems == std::vector<std::string>{});
    CHECK((whole || absent));
    return whole;
  }

 private:
  static void use(Book& book) {
    const EventRef entry = book.record_one(fed(), at(60));
    CHECK(book.log().find(entry) != 0);
    book.prepare_sync(at(61));
    CHECK(book.heads().size() >= 2);
    CHECK(book.check().problems == std::vector<std::string>{});
  }

  Folder folder_{Folder::On::memory};
  std::string source_ = folder_ / "source.book";
  std::string copy_ = folder_ / "copy.book";
  OnDisk before_;
  OnDisk after_;
};

}  // namespace

TEST_CASE("a write-ahead log cut within its last transaction leaves that out whole, and the book goes on",
          "[book][truncation]") {
  for (const auto& [name, work] : works()) {
    DYNAMIC_SECTION(name) {
      Cutter cutter(work);
      std::size_t tried = 0;
      for (const std::size_t cut : cutter.places(80)) {
        const bool go_on = ++tried % 16 == 0;
        const bool whole = cutter.whole_after(cut, Cutter::Tail::missing, go_on);
        // The last byte of the last frame decides: before it, nothing of the transaction counts.
        if (name != "a signature" && whole) FAIL_CHECK("whole although cut at byte " << cut);
        if (tried % 4 == 0) cutter.whole_after(cut, Cutter::Tail::zeros, false);
      }
      CHECK(tried > 20);
    }
  }
}
