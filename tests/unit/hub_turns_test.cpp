// Many writers of one book share a transaction; what one of them does wrong is its own.
#include <atomic>
#include <thread>

#include "sync/hub/turns.h"
#include "tests/support/catch.h"
#include "tests/support/program.h"
#include "tests/support/world.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;

namespace {

ClockReading now() {
  return {1'790'877'600'000, 1, 1'790'877'600'000};
}

Book new_book(const std::string& path) {
  return Book::create(path,
                      {.keeper = "Robin",
                       .zone = {{{0, 60}}},
                       .root = World::key("root"),
                       .device = World::key("hub"),
                       .keeper_code = World::code(CodeKind::helper, "keeper")},
                      now());
}

Draft feeding(int animal) {
  return {.kind = Kind::fed, .of = {World::animal("animal " + std::to_string(animal))}};
}

std::int64_t count(Book& book, const char* sql) {
  auto query = book.database().prepare(sql);
  return query.step() ? query.integer(0) : -1;
}

constexpr const char* kFeedings = "SELECT count(*) FROM event WHERE bytes LIKE '%\"kind\":\"fed\"%'";
const std::string kAccounts =
    "SELECT count(*) FROM account WHERE kind = " + std::to_string(static_cast<int>(Kind::fed));

}  // namespace

TEST_CASE("works written together give the book that they give one by one", "[book]") {
  const Folder folder(Folder::On::memory);
  new_book(folder / "apart.book").tidy();
  std::filesystem::copy_file(folder / "apart.book", folder / "together.book");
  Book apart = Book::open(folder / "apart.book");
  Book together = Book::open(folder / "together.book");
  std::vector<std::function<void()>> works;
  for (int i = 0; i < 20; ++i) {
    apart.record_one(feeding(i % 3), now());
    works.emplace_back([&, i] { together.record_one(feeding(i % 3), now()); });
  }
  for (const auto& failure : together.write_each(works)) CHECK(failure == nullptr);
  CHECK(apart.digest() == together.digest());
  CHECK(apart.heads() == together.heads());
  CHECK(together.check().problems.empty());
  Book again = Book::open(folder / "together.book");
  CHECK(count(again, kFeedings) == 20);
}

TEST_CASE("a work that fails among others takes back itself alone", "[book]") {
  const Folder folder(Folder::On::memory);
  Book book = new_book(folder / "a.book");
  std::vector<std::function<void()>> works;
  int tried = 0;
  for (int i = 0; i < 5; ++i) {
    works.emplace_back([&, i] {
      book.record_one(feeding(i), now());
      ++tried;
      if (i == 3) throw Error(Fault::bad_event, "not this one");
    });
  }
  // As a push that is refused: the whole of it in one transaction.
  works[3] = [&] {
    book.write([&] {
      book.set_own_value("left", "behind");
      throw Error(Fault::bad_event, "not this one");
    });
  };
  const auto failures = book.write_each(works);
  for (std::size_t i = 0; i < failures.size(); ++i) CHECK((failures[i] != nullptr) == (i == 3));
  CHECK_THROWS_AS(std::rethrow_exception(failures[3]), Error);
  CHECK(tried == 3 + 4);
  CHECK(count(book, kFeedings) == 4);
  CHECK_FALSE(book.own_value("left"));
  CHECK(book.check().problems.empty());
  // The book goes on as before.
  book.record_one(feeding(9), now());
  CHECK(count(book, kFeedings) == 5);
}

TEST_CASE("turns of many threads are each done once, and each hears of its own failure", "[transport]") {
  const Folder folder(Folder::On::memory);
  Book book = new_book(folder / "a.book");
  sync::hub::Turns turns(book);
  std::atomic<int> failed = 0;
  std::atomic<int> inside = 0;
  std::atomic<bool> overlapped = false;
  std::vector<std::thread> threads;
  for (int i = 0; i < 60; ++i) {
    threads.emplace_back([&, i] {
      try {
        turns.run([&] {
          if (++inside != 1) overlapped = true;
          std::this_thread::sleep_for(std::chrono::microseconds(200));
          --inside;
          if (i % 10 == 7) throw Error(Fault::bad_event, "not this one");
          book.record_one(feeding(i), now());
        });
      } catch (const Error&) {
        ++failed;
      }
    });
  }
  for (std::thread& thread : threads) thread.join();
  CHECK(failed == 6);
  CHECK_FALSE(overlapped);
  CHECK(count(book, kFeedings) == 54);
  CHECK(count(book, kAccounts.c_str()) == 54);
  turns.alone([&] { CHECK(book.check().problems.empty()); });
}
