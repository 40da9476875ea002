// Copied books, restored phones and hubs, backups beside a serving hub: real processes on loopback.
#include <signal.h>
#include <sys/stat.h>

#include <fstream>

#include "sync/hub/members.h"
#include "tests/support/catch.h"
#include "tests/support/hub_process.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;

namespace {

bool says(const Run& outcome, const std::string& text) {
  return (outcome.out + outcome.err).find(text) != std::string::npos;
}

void sync_well(const std::string& book) {
  const Run synced = run_rackside({"--book", book, "sync"});
  INFO(synced.out << synced.err);
  REQUIRE(synced.status == 0);
}

bool holds_all(const std::string& path, const std::vector<EventRef>& events) {
  Book book = Book::open(path);
  for (const EventRef& event : events) {
    if (book.log().find(event) == 0) return false;
  }
  return true;
}

std::size_t count(const std::string& path) {
  return Book::open(path).check().events;
}

/// As somebody copies a folder while nothing runs: with the write-ahead log.
void copy_whole(const std::string& from, const std::string& to) {
  for (const char* end : {"", "-wal"}) {
    if (std::filesystem::exists(from + end)) std::filesystem::copy_file(from + end, to + end);
  }
}

struct HubAndLaptop {
  Folder folder;
  std::string hub_book = (folder / "hub.book");
  std::string laptop = (folder / "laptop.book");
  HubProcess hub;

  HubAndLaptop() {
    found_book(hub_book, "Robin");
    hub = start_hub(folder, hub_book, Security::tls);
    REQUIRE(join_hub(hub, hub_book, laptop, "helper", "Mira").status == 0);
    sync_well(laptop);
  }
  void stop_hub() {
    hub.process.signal(SIGTERM);
    REQUIRE(hub.process.wait() == 0);
  }
};

}  // namespace

TEST_CASE("two copies of one book, both used: both are kept, and each goes on under a name of its own", "[sync]") {
  HubAndLaptop h;
  record_feedings(h.laptop, 5);
  sync_well(h.laptop);
  const std::string copy = (h.folder / "copy.book");
  copy_whole(h.laptop, copy);
  const auto by_one = record_feedings(h.laptop, 7);
  const auto by_two = record_feedings(copy, 9);
  CHECK(by_one.front().seq == by_two.front().seq);
  sync_well(h.laptop);
  const Run met = run_rackside({"--book", copy, "sync"});
  INFO(met.out << met.err);
  CHECK(met.status == 0);
  CHECK(says(met, "a copy, or a restored backup"));
  const auto after = record_feedings(copy, 3);
  CHECK(after.front().device != by_two.front().device);
  for (int round = 0; round < 2; ++round) {
    for (const std::string& book : {h.laptop, copy}) sync_well(book);
  }
  const auto more = record_feedings(h.laptop, 2);
  CHECK(more.front().device != by_one.front().device);
  CHECK(more.front().device != after.front().device);
  for (int round = 0; round < 2; ++round) {
    for (const std::string& book : {h.laptop, copy}) sync_well(book);
  }
  sync_well(h.laptop);
  for (const std::string& book : {h.laptop, copy, h.hub_book}) {
    CHECK(holds_all(book, by_one));
    CHECK(holds_all(book, by_two));
    CHECK(holds_all(book, after));
    CHECK(holds_all(book, more));
    CHECK(Book::open(book).check().problems == std::vector<std::string>{});
    CHECK(Book::open(book).check().unread == 0);
    CHECK(digest_of(book) == digest_of(h.hub_book));
  }
  const Run quiet = run_rackside({"--book", copy, "--json", "sync"});
  CHECK(says(quiet, "\"received\":0,"));
  CHECK(says(quiet, "\"succeeded\":null"));
}

TEST_CASE("a hub's clock checks reach the successor of a copied device", "[sync]") {
  HubAndLaptop h;
  const std::string copy = (h.folder / "copy.book");
  copy_whole(h.laptop, copy);
  record_feedings(h.laptop, 1);
  record_feedings(copy, 1);
  sync_well(h.laptop);
  sync_well(copy);
  sync_well(copy);
  const auto fed = record_feedings(copy, 1);
  sync_well(copy);
  Book book = Book::open(h.hub_book);
  auto query = book.database().prepare("SELECT mark & 2 FROM event WHERE id = ?");
  REQUIRE(query.bind(book.log().find(fed.front())).step());
  CHECK(query.integer(0) == 2);  // sure of its time
}

TEST_CASE("a backup beside a serving hub is whole; restored, it goes on as a new device and phones need nothing",
          "[sync]") {
  HubAndLaptop h;
  const auto before = record_feedings(h.laptop, 300);
  sync_well(h.laptop);
  const std::string backup = (h.folder / "safe.book");
  const Run made = run_rackside({"--book", h.hub_book, "backup", backup});
  INFO(made.out << made.err);
  REQUIRE(made.status == 0);
  struct stat file {};
  REQUIRE(::stat(backup.c_str(), &file) == 0);
  CHECK((file.st_mode & 0777) == 0600);
  CHECK(std::filesystem::exists(backup + "-hub.keys"));
  CHECK(count(backup) == count(h.hub_book));
  // The hub and the laptop go on, and then the hub's disk dies.
  const auto by_hub = record_feedings(h.hub_book, 20);
  const auto by_laptop = record_feedings(h.laptop, 20);
  sync_well(h.laptop);
  const std::string address = h.hub.url;
  h.stop_hub();
  for (const char* end : {"", "-wal", "-shm", "-lock", "-hub.keys"}) std::filesystem::remove(h.hub_book + end);
  const auto unsent = record_feedings(h.laptop, 4);

  const Run restored = run_rackside({"--book", h.hub_book, "restore", backup});
  INFO(restored.out << restored.err);
  REQUIRE(restored.status == 0);
  CHECK(says(restored, "as a new device"));
  h.hub = start_hub(h.folder, h.hub_book, Security::tls, port_of(address));
  for (int round = 0; round < 3; ++round) sync_well(h.laptop);
  for (const auto& all : {before, by_hub, by_laptop, unsent}) {
    CHECK(holds_all(h.hub_book, all));
    CHECK(holds_all(h.laptop, all));
  }
  CHECK(digest_of(h.laptop) == digest_of(h.hub_book));
  CHECK(Book::open(h.hub_book).check().problems == std::vector<std::string>{});
  CHECK(Book::open(h.hub_book).is_clock());
}

TEST_CASE("a backup replaces an older one of the same collection and nothing else", "[sync]") {
  const Folder folder;
  const std::string book = (folder / "mine.book");
  found_book(book, "Robin");
  const std::string target = (folder / "safe.book");
  CHECK(run_rackside({"--book", book, "backup", target}).status == 0);
  record_feedings(book, 3);
  CHECK(run_rackside({"--book", book, "backup", target}).status == 0);
  CHECK(count(target) == count(book));
  const std::string text = (folder / "letter.txt");
  std::ofstream(text) << "Dear keeper,\n";
  CHECK(run_rackside({"--book", book, "backup", text}).status == fault_info(Fault::book_exists).exit_status);
  CHECK(std::filesystem::file_size(text) == 13);
  CHECK(run_rackside({"--book", book, "backup", book}).status == fault_info(Fault::usage).exit_status);
  const std::string other = (folder / "other.book");
  found_book(other, "Kim");
  CHECK(run_rackside({"--book", book, "backup", other}).status == fault_info(Fault::book_exists).exit_status);
  // Restoring never overwrites a book, and takes no letter for one.
  CHECK(run_rackside({"--book", book, "restore", target}).status == fault_info(Fault::book_exists).exit_status);
  CHECK(run_rackside({"--book", (folder / "new.book"), "restore", text}).status ==
        fault_info(Fault::not_a_book).exit_status);
  CHECK_FALSE(std::filesystem::exists((folder / "new.book")));
  const Run in_folder = run_rackside({"--book", book, "--json", "backup", folder.str()});
  CHECK(in_folder.status == 0);
  CHECK(says(in_folder, "mine-20"));
}

TEST_CASE("old or missing backups are mentioned where a book has much to lose", "[sync]") {
  const Folder folder;
  const std::string book = (folder / "mine.book");
  found_book(book, "Robin");
  CHECK_FALSE(says(run_rackside({"--book", book, "today"}), "backup"));
  record_feedings(book, 600);
  CHECK(says(run_rackside({"--book", book, "today"}), "no backup of this book yet"));
  REQUIRE(run_rackside({"--book", book, "backup", (folder / "safe.book")}).status == 0);
  CHECK_FALSE(says(run_rackside({"--book", book, "today"}), "backup"));
  {
    Book open = Book::open(book);
    const std::int64_t then = std::stoll(*open.own_value("backup_ms")) - 9LL * 24 * 60 * 60 * 1000;
    open.write([&] { open.set_own_value("backup_ms", std::to_string(then)); });
  }
  CHECK(says(run_rackside({"--book", book, "today"}), "9 days old"));
}
