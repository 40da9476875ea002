// Books of earlier releases, byte for byte as they left them. README.md beside this file says how they were made.
#include <algorithm>
#include <filesystem>
#include <sstream>

#include "core/book/fold_all.h"
#include "core/book/schema.h"
#include "core/crypto/sha256.h"
#include "tests/support/catch.h"
#include "tests/support/cuts.h"
#include "tests/support/program.h"
#include "tests/support/world.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;

namespace {

const std::string kGolden = RACKSIDE_SOURCE_DIR "/tests/golden/";

std::vector<std::string> names() {
  std::vector<std::string> out;
  for (const auto& file : std::filesystem::directory_iterator(kGolden)) {
    if (file.path().extension() == ".book") out.push_back(file.path().stem());
  }
  std::sort(out.begin(), out.end());
  return out;
}

/// The two lines that the program which made the book said of it.
struct Recorded {
  std::string log;
  std::string rules;
  std::string state;
};
Recorded recorded(const std::string& name) {
  std::istringstream text(read_text(kGolden + name + ".digest"));
  Recorded out;
  std::string word;
  text >> word >> out.log >> word >> out.rules >> out.state;
  return out;
}

std::string copy_of(const std::string& name, const Folder& folder) {
  const std::string path = folder / (name + ".book");
  std::filesystem::copy_file(kGolden + name + ".book", path);
  std::filesystem::permissions(path, std::filesystem::perms::owner_read | std::filesystem::perms::owner_write);
  return path;
}

std::int64_t number(Book& book, const char* sql) {
  auto query = book.database().prepare(sql);
  return query.step() ? query.integer(0) : -1;
}

/// The log's bytes as the script wrote them out, read by nothing but SQL.
std::string lines_of(Book& book) {
  auto query = book.database().prepare(
      "SELECT event.bytes FROM event JOIN branch ON branch.id = event.id >> 32 JOIN device ON device.id = "
      "branch.device ORDER BY device.name, event.id & 4294967295, event.bytes");
  std::string out;
  while (query.step()) out.append(query.text(0)).push_back('\n');
  return out;
}

std::vector<Segment> everything(Book& book) {
  std::vector<Segment> out;
  CHECK(book.missing_for({},
                         [&](Segment&& segment) {
                           out.push_back(std::move(segment));
                           return true;
                         })
            .empty());
  return out;
}

/// The same book with an empty log and nothing folded: who it is, and no more.
Book emptied(const std::string& path) {
  Book book = Book::open(path);
  book.write([&] {
    clear_folded(book.database());
    for (const char* table : {"event", "signature", "sealed", "branch", "device", "code"})
      book.database().execute(std::string("DELETE FROM ") + table);
  });
  return Book::open(path);
}

Draft weighing() {
  return {.kind = Kind::weighed, .of = {World::animal("a newcomer")}, .own = Value::Object{{"grams_tenths", 4120}}};
}

}  // namespace

TEST_CASE("every golden book opens, is brought up to date, and keeps its log", "[golden]") {
  REQUIRE(names().size() >= 3);
  for (const std::string& name : names()) {
    DYNAMIC_SECTION(name) {
      const Folder folder;
      const std::string path = copy_of(name, folder);
      CHECK(std::filesystem::file_size(path) <= 300 * 1024);
      const Recorded said = recorded(name);
      REQUIRE(said.log.size() == 64);
      const bool of_today = said.rules == std::to_string(kRuleSet);
      bool folded = false;
      Book book = Book::open(path, [&](std::size_t, std::size_t) { folded = true; });
      CHECK(folded == !of_today);
      CHECK(number(book, "PRAGMA user_version") == kSchemaVersion);
      const CheckReport report = book.check();
      CHECK(report.problems == std::vector<std::string>{});
      CHECK(to_hex(report.digest.log) == said.log);
      if (of_today) CHECK(to_hex(report.digest.state) == said.state);
      CHECK(lines_of(book) == read_text(kGolden + name + ".lines"));
      // It goes on.
      const Instant now = 1'800'000'000'000;
      book.record_one(weighing(), {now, 5, now});
      CHECK(book.check().problems == std::vector<std::string>{});
      // A second opening has nothing left to do.
      CHECK_NOTHROW(Book::open(path, [](std::size_t, std::size_t) { FAIL("it was folded twice"); }));
    }
  }
}

TEST_CASE("a golden book whose fold was cut off goes on where it stopped", "[golden]") {
  const Folder folder;
  const std::string path = copy_of("schema-6", folder);
  const Digest sound = Book::open(path).digest();
  for (const std::size_t events : {1U, 40U, 100U}) {
    CAPTURE(events);
    FoldMark mark;
    {
      Book book = Book::open(path);
      book.write([&] {
        FoldAll fold(book.log());
        fold.go_on(static_cast<std::size_t>(number(book, "SELECT count(*) FROM event")) * 2 + events);  // it is judging
        mark = fold.mark();
        book.database()
            .prepare("UPDATE own SET value = ? WHERE key = 'ruleset'")
            .bind(std::to_string(kRuleSet) + " unfinished: " + to_text(mark))
            .run();
      });
      CHECK(mark.pass == FoldMark::Pass::judge);
      CHECK(book.digest().state != sound.state);
    }
    bool folded = false;
    Book book = Book::open(path, [&](std::size_t, std::size_t) { folded = true; });
    CHECK(folded);
    CHECK(book.digest() == sound);
  }
  // A mark of another log, or a word that is none, begins anew.
  for (const std::string mark : {"judge 3 1:2", "judge", "none"}) {
    CAPTURE(mark);
    {
      Book book = Book::open(path);
      book.write([&] {
        clear_folded(book.database());
        book.database()
            .prepare("UPDATE own SET value = ? WHERE key = 'ruleset'")
            .bind(std::to_string(kRuleSet) + " unfinished: " + mark)
            .run();
      });
    }
    CHECK(Book::open(path).digest() == sound);
  }
}

TEST_CASE("a golden book's state is that of its lines, taken in from nothing", "[golden]") {
  for (const std::string& name : names()) {
    DYNAMIC_SECTION(name) {
      const Folder folder;
      const std::string path = copy_of(name, folder);
      Book book = Book::open(path);
      const std::int64_t events = number(book, "SELECT count(*) FROM event");
      const std::vector<Segment> all = everything(book);
      std::filesystem::copy_file(path, folder / "again.book");
      std::filesystem::copy_file(path + "-wal", folder / "again.book-wal");
      Book again = emptied(folder / "again.book");
      CHECK(number(again, "SELECT count(*) FROM event") == 0);
      CHECK(again.merge(all).stored == static_cast<std::size_t>(events));
      CHECK(again.digest() == book.digest());
      CHECK(again.check().problems == std::vector<std::string>{});
      CHECK(lines_of(again) == lines_of(book));
    }
  }
}

TEST_CASE("a golden book whose migration is cut off anywhere is migrated again", "[golden][truncation]") {
  const Folder folder{Folder::On::memory};
  const std::string path = copy_of("schema-1", folder);
  const std::string before = read_text(path);
  Digest expected;
  std::string book;
  std::string log;
  {
    // Read while it is open: a process that wrote much takes its log into the book when it closes.
    Book migrated = Book::open(path);
    expected = migrated.digest();
    book = read_text(path);
    log = read_text(path + "-wal");
  }
  REQUIRE(log.size() > 8192);
  std::vector<std::size_t> frames;
  for (std::size_t frame = 32; frame < log.size(); frame += 24 + 4096) frames.push_back(frame);
  std::size_t tried = 0;
  // What was taken into the file by then stays there: both states of the file are tried.
  for (const std::string& file : {before, book}) {
    for (const std::size_t cut : cuts(0, log.size(), {frames.front(), frames[frames.size() / 2], frames.back()}, 12)) {
      INFO("cut at byte " << cut << " of " << log.size());
      for (const char* companion : {"-shm", "-lock"}) std::filesystem::remove(path + companion);
      write_text(path, file);
      write_text(path + "-wal", log.substr(0, cut));
      Book opened = Book::open(path);
      CHECK(opened.digest() == expected);
      CHECK(opened.check().problems == std::vector<std::string>{});
      ++tried;
    }
  }
  CHECK(tried > 20);
}

TEST_CASE("what an older program kept of a kind it did not know counts after the upgrade", "[golden]") {
  const Folder folder;
  const std::string path = copy_of("unknown-kind", folder);
  // As the older program left it: the event is there, of no kind.
  {
    Database raw(path, Database::Mode::open);
    auto told = raw.prepare(
        "SELECT max(account.kind) FROM account JOIN event ON event.id = account.event WHERE event.bytes "
        "LIKE '%\"kind\":\"gravid\"%'");
    REQUIRE(told.step());
    CHECK(told.integer(0) == 0);
  }
  Book book = Book::open(path);
  auto query = book.database().prepare("SELECT id FROM event WHERE bytes LIKE '%\"kind\":\"gravid\"%'");
  REQUIRE(query.step());
  const EventRef ref = book.log().ref_of(query.integer(0));
  CHECK(is_read(book, ref));
  CHECK(subjects(book, ref).size() == 1);
  CHECK(account(book, ref).kind == Kind::gravid);
}

namespace {

/// Bytes as a program of some later year may write them: an unknown kind, unknown fields, an unknown relation.
const std::vector<std::string>& of_later_years() {
  static const std::vector<std::string> all = {
      R"({"v":1,"kind":"basked","of":["AYM4WWPT43"],"wall":1790877600001,"run":"0000000000000001","ms":1,"lux":[1,{"deep":null}],"x_y":"\/\u001fä"})",
      R"({"v":1,"wall":1790877600002,"kind":"fed","of":["AYM4WWPT43"],"run":"0000000000000001","ms":2,"items":[{"prey":"quail","warmth":38}],"mood":{"calm":true}})",
      R"({"v":1,"kind":"weighed","of":["AYM4WWPT43"],"wall":1790877600003,"run":"0000000000000001","ms":3,"re":[["0000000000000000",1,"00000000000000000000000000000000","echoes"]],"grams_tenths":"heavy"})",
  };
  return all;
}

Segment signed_by_newer(Book& receiver, const KeyPair& key) {
  const DeviceId device = device_id_of(key.public_key());
  Segment out{.device = device, .after = 0};
  out.previous = sha256({ByteSpan(receiver.collection()), ByteSpan(device)});
  out.events = {R"({"v":1,"kind":"clock_marked","wall":1790877600000,"run":"0000000000000001","ms":0,"key":")" +
                to_hex(key.public_key()) + R"(","quartz":"trimmed"})"};
  out.events.insert(out.events.end(), of_later_years().begin(), of_later_years().end());
  out.sealed.resize(out.events.size());
  Hash hash = out.previous;
  for (const std::string& bytes : out.events) hash = sha256({ByteSpan(hash), as_bytes(bytes)});
  out.signature = key.sign(
      as_bytes(head_message(receiver.collection(), device, static_cast<std::uint32_t>(out.events.size()), hash)));
  return out;
}

}  // namespace

TEST_CASE("a newer program's unknown kinds and fields go through this one byte for byte", "[golden]") {
  World world;
  const KeyPair newer = World::key("newer");
  const std::string device = to_hex(device_id_of(newer.public_key()));
  world.record(world.hub(), Kind::admitted, {}, {.own = Value::Object{{"device", device}, {"role", "helper"}}});
  Device& aisle = world.device("aisle");
  const Segment sent = signed_by_newer(world.hub().book(), newer);
  CHECK(world.hub().book().merge({sent}).stored == sent.events.size());
  world.sync(aisle, world.hub());
  CHECK(aisle.book().digest() == world.hub().book().digest());
  bool found = false;
  for (const Segment& segment : everything(aisle.book())) {
    if (segment.device != sent.device) continue;
    found = true;
    CHECK(segment.events == sent.events);
    CHECK(segment.signature == sent.signature);
  }
  CHECK(found);
  CHECK(aisle.book().check().problems == std::vector<std::string>{});
  // What it does know of them counts: the meal, whatever else was said of it.
  EventRef fed{sent.device, 3, {}};
  Hash hash = sent.previous;
  for (std::size_t i = 0; i < 3; ++i) hash = sha256({ByteSpan(hash), as_bytes(sent.events[i])});
  fed.hash = shorten(hash);
  CHECK(is_read(aisle.book(), fed));
  CHECK(subjects(aisle.book(), fed) == std::set<std::string>{"AYM4WWPT43"});
}
