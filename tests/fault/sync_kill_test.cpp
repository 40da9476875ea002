// Killed at random moments, a sync loses nothing that was acknowledged and repeats nothing. (A kill cannot show a
// missing fsync: the kernel keeps what was written.)
#include <signal.h>

#include <chrono>
#include <cstdlib>
#include <random>
#include <thread>

#include "tests/support/catch.h"
#include "tests/support/hub_process.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;

namespace {

constexpr int kRounds = 220;

unsigned seed() {
  const char* given = std::getenv("RACKSIDE_SEED");
  return given != nullptr ? static_cast<unsigned>(std::strtoul(given, nullptr, 10)) : std::random_device{}();
}

struct Laptop {
  std::string book;
  std::vector<EventRef> recorded;  ///< durable here
};

bool holds_all(const std::string& path, const std::vector<EventRef>& refs) {
  Book book = Book::open(path);
  return std::all_of(refs.begin(), refs.end(), [&](const EventRef& ref) { return book.log().find(ref) != 0; });
}

std::size_t feedings_in(const std::string& path) {
  Book book = Book::open(path);
  auto query = book.database().prepare("SELECT count(*) FROM event WHERE bytes LIKE '%\"kind\":\"fed\"%'");
  return query.step() ? static_cast<std::size_t>(query.integer(0)) : 0;
}

class KillLoop {
 public:
  explicit KillLoop(unsigned seed_number) : random_(seed_number) {
    found_book(hub_book_, "Robin");
    hub_ = start_hub(folder_, hub_book_, Security::plain);
    port_ = port_of(hub_.url);
    for (const char* name : {"one.book", "two.book"}) {
      laptops_.push_back({(folder_ / name), {}});
      REQUIRE(join_hub(hub_, hub_book_, laptops_.back().book).status == 0);
    }
  }

  void round() {
    Laptop& laptop = laptops_[random_() % laptops_.size()];
    const auto refs = record_feedings(laptop.book, 1 + static_cast<int>(random_() % 400));
    laptop.recorded.insert(laptop.recorded.end(), refs.begin(), refs.end());
    const auto begun = std::chrono::steady_clock::now();
    Process sync({"--book", laptop.book, "sync"}, (folder_ / "sync"));
    const bool at_the_hub = random_() % 3 == 0;
    std::this_thread::sleep_for(std::chrono::microseconds(random_() % static_cast<unsigned>(usual_us_ * 2)));
    if (at_the_hub) {
      hub_.process.signal(SIGKILL);
      hub_.process.wait();
    } else {
      sync.signal(SIGKILL);
    }
    if (sync.wait() == 0) {
      ++acknowledged_;
      usual_us_ =
          std::chrono::duration_cast<std::chrono::microseconds>(std::chrono::steady_clock::now() - begun).count();
      CHECK(holds_all(hub_book_, laptop.recorded));
    }
    if (at_the_hub) hub_ = start_hub(folder_, hub_book_, Security::plain, port_);
  }

  void finish() {
    for (int pass = 0; pass < 2; ++pass) {
      for (const Laptop& laptop : laptops_) {
        const Run synced = run_rackside({"--book", laptop.book, "sync"});
        INFO(synced.out << synced.err);
        CHECK(synced.status == 0);
      }
    }
    std::size_t recorded = 0;
    for (const Laptop& laptop : laptops_) recorded += laptop.recorded.size();
    const Digest digest = digest_of(hub_book_);
    for (const std::string& book : {hub_book_, laptops_[0].book, laptops_[1].book}) {
      CHECK(digest_of(book) == digest);
      CHECK(feedings_in(book) == recorded);
      for (const Laptop& laptop : laptops_) CHECK(holds_all(book, laptop.recorded));
      const CheckReport report = Book::open(book).check();
      CHECK(report.problems == std::vector<std::string>{});
      CHECK(report.forked.empty());
    }
    WARN("syncs that ended before the kill: " << acknowledged_ << ", entries: " << recorded);
  }

 private:
  Folder folder_;
  std::string hub_book_ = (folder_ / "hub.book");
  HubProcess hub_;
  int port_ = 0;
  std::vector<Laptop> laptops_;
  std::mt19937 random_;
  std::int64_t usual_us_ = 60'000;
  int acknowledged_ = 0;
};

}  // namespace

TEST_CASE("220 syncs killed at random moments, at either end, lose and repeat nothing", "[sync][kill]") {
  const unsigned number = seed();
  WARN("seed " << number << " (RACKSIDE_SEED)");
  KillLoop loop(number);
  for (int i = 0; i < kRounds; ++i) loop.round();
  loop.finish();
}
