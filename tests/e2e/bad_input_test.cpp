#include <sys/file.h>

#include <fcntl.h>
#include <unistd.h>

#include "core/base/error.h"
#include "tests/support/catch.h"
#include "tests/support/program.h"

using namespace rackside::tests;
using rackside::core::Fault;
using rackside::core::fault_info;

namespace {

/// A small book with one rack and one animal.
struct Room {
  Folder folder;
  std::string book = folder / "room.book";
  std::string place;

  Room() {
    REQUIRE(run({"init", "Ottoline"}).status == 0);
    const Run rack = run({"--json", "rack", "add", "A", "--places", "4"});
    REQUIRE(rack.status == 0);
    place = rack.out.substr(rack.out.find("\"places\":[{\"code\":\"") + 19, 10);
    REQUIRE(run({"animal", "add", "C-14", "--at", "A-01"}).status == 0);
  }
  Run run(std::vector<std::string> arguments, const std::string& input = {}) const {
    arguments.insert(arguments.begin(), {"--book", book});
    return run_rackside(arguments, input);
  }
};

int status_of(Fault fault) {
  return fault_info(fault).exit_status;
}

/// One line to standard error that says what, why and what to do; nothing like a crash.
void check_message(const Run& run, Fault fault) {
  CAPTURE(run.err, run.out);
  CHECK(run.status == status_of(fault));
  CHECK(run.err.starts_with("rackside: "));
  CHECK(run.err.find("terminate called") == std::string::npos);
}

/// A code whose check fails: its fifth character swapped for another.
std::string spoilt(std::string code) {
  code[4] = code[4] == '7' ? '8' : '7';  // a digit: see scan_test.cpp
  return code;
}

}  // namespace

TEST_CASE("a mistyped code says that its check failed and what it might have been") {
  const Room room;
  const Run run = room.run({"show", spoilt(room.place)});
  check_message(run, Fault::bad_code);
  CHECK(contains(run.err, "A-01"));
}

TEST_CASE("an unknown short ID offers similar ones") {
  const Room room;
  const Run run = room.run({"show", "C-15"});
  check_message(run, Fault::unknown_code);
  CHECK(contains(run.err, "C-14"));
}

TEST_CASE("a well-formed code that the book does not know says so") {
  const Room room;
  const Room other;
  check_message(room.run({"show", other.place}), Fault::unknown_code);
}

TEST_CASE("no book, no file of ours, a newer book: each is told apart and left as it is") {
  const Room room;
  check_message(run_rackside({"--book", room.folder / "none.book", "today"}), Fault::no_book);
  const std::string text = room.folder / "text.book";
  write_text(text, "this is a shopping list, and long enough to be no empty file at all\n");
  check_message(run_rackside({"--book", text, "today"}), Fault::not_a_book);
  CHECK(read_text(text).starts_with("this is a shopping list"));
  const std::string foreign = room.folder / "foreign.db";
  REQUIRE(run_program("sqlite3", {foreign, "create table recipes(name text)"}).status == 0);
  check_message(run_rackside({"--book", foreign, "today"}), Fault::not_a_book);
  REQUIRE(run_program("sqlite3", {room.book, "pragma user_version = 999"}).status == 0);
  check_message(room.run({"today"}), Fault::newer_book);
}

TEST_CASE("init overwrites nothing") {
  const Room room;
  const std::string before = room.run({"check", "--digest"}).out;
  check_message(room.run({"init"}), Fault::book_exists);
  CHECK(room.run({"check", "--digest"}).out == before);
}

TEST_CASE("a damaged book is found by check") {
  const Room room;
  REQUIRE(run_program("sqlite3", {room.book, "update event set bytes = replace(bytes, 'C-14', 'C-15')"}).status == 0);
  const Run run = room.run({"check"});
  check_message(run, Fault::corrupt);
  CHECK(contains(run.out, "were changed"));
}

TEST_CASE("folded state that disagrees with the log is found, and made anew") {
  const Room room;
  const std::string before = room.run({"check", "--digest"}).out;
  REQUIRE(run_program("sqlite3", {room.book, "delete from stay"}).status == 0);
  check_message(room.run({"check"}), Fault::corrupt);
  CHECK(room.run({"check", "--rebuild"}).status == 0);
  CHECK(room.run({"check", "--digest"}).out == before);
}

TEST_CASE("pictures that are none, cut short, or empty of codes end with one clear line and status 1") {
  const Room room;
  const std::string none = room.folder / "none.jpg";
  write_text(none, "no picture");
  check_message(room.run({"read", none}), Fault::unreadable_image);
  check_message(room.run({"read", room.folder / "missing.jpg"}), Fault::bad_input);
  const std::string photo = room.folder / "photo.jpg";
  REQUIRE(room.run({"demo", "photo", "A-01", "A-02", "--out", photo}).status == 0);
  const Run good = room.run({"read", photo});
  CHECK(good.status == 0);
  CHECK(contains(good.out, "A-01"));
  CHECK(contains(good.out, "A-02"));
  const std::string whole = read_text(photo);
  write_text(photo, whole.substr(0, whole.size() / 2));
  check_message(room.run({"read", photo}), Fault::unreadable_image);
}

TEST_CASE("a second writer waits for the first, and nothing is lost") {
  const Room room;
  const int lock = ::open((room.book + "-lock").c_str(), O_RDWR | O_CREAT, 0600);
  REQUIRE(::flock(lock, LOCK_EX) == 0);
  const pid_t child = ::fork();
  if (child == 0) {
    ::usleep(700'000);
    ::flock(lock, LOCK_UN);
    ::_exit(0);
  }
  ::close(lock);
  CHECK(room.run({"animal", "add", "C-16"}).status == 0);
  CHECK(room.run({"show", "C-16"}).status == 0);
}

TEST_CASE("a full disk loses nothing, says so, and the book works again when there is room") {
  const Folder folder;
  const std::string disk = folder / "disk";
  std::filesystem::create_directory(disk);
  const bool mounted = run_program("mount", {"-t", "tmpfs", "-o", "size=2m", "tmpfs", disk}).status == 0;
  if (!mounted) {
    WARN("no right to mount a small disk here: the full disk was not tried");
    return;
  }
  const std::string book = disk + "/room.book";
  REQUIRE(run_rackside({"--book", book, "init"}).status == 0);
  REQUIRE(run_rackside({"--book", book, "animal", "add", "C-1"}).status == 0);
  const std::string before = run_rackside({"--book", book, "check", "--digest"}).out;
  run_program("dd", {"if=/dev/zero", "of=" + disk + "/filler", "bs=1k"});
  int refused = 0;
  int recorded = 0;
  for (int i = 2; i < 60; ++i) {
    const Run run = run_rackside({"--book", book, "animal", "add", "C-" + std::to_string(i)});
    run.status == 0 ? ++recorded : ++refused;
    if (run.status != 0) check_message(run, Fault::disk_full);
  }
  CHECK(refused > 0);
  std::filesystem::remove(disk + "/filler");
  CHECK(run_rackside({"--book", book, "check"}).status == 0);
  CHECK(contains(run_rackside({"--book", book, "list"}).out, std::to_string(1 + recorded) + " animals"));
  if (recorded == 0) CHECK(run_rackside({"--book", book, "check", "--digest"}).out == before);
  run_program("umount", {disk});
}
