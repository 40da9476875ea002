// Both ends of a sync hold a batch, never the log.
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/support/catch.h"
#include "tests/support/hub_process.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;

namespace {

struct Peaks {
  long laptop_kib = 0;
  long hub_kib = 0;
};

/// In a process of its own: what a child is told to have needed at most includes what its parent held when it was
/// forked.
void record_many(const std::string& book, int count) {
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    for (int done = 0; done < count; done += 4000) record_feedings(book, 4000);
    ::_exit(0);
  }
  int status = 1;
  REQUIRE(::waitpid(child, &status, 0) == child);
  REQUIRE(status == 0);
}

/// The memory that a hub and a laptop need to bring that many events up, or down.
enum class Way { up, down };
Peaks measure(Way way, int events) {
  const Folder folder;
  const std::string hub_book = folder / "hub.book";
  const std::string laptop = folder / "laptop.book";
  found_book(hub_book, "Robin");
  HubProcess hub = start_hub(folder, hub_book, Security::plain);
  REQUIRE(join_hub(hub, hub_book, laptop).status == 0);
  const std::string& source = way == Way::up ? laptop : hub_book;
  record_many(source, events);
  Process sync({"--book", laptop, "sync"}, folder / "sync");
  INFO(sync.errors());
  REQUIRE(sync.wait() == 0);
  hub.process.signal(SIGTERM);
  REQUIRE(hub.process.wait() == 0);
  CHECK(digest_of(laptop) == digest_of(hub_book));
  return {sync.peak_kib(), hub.process.peak_kib()};
}

}  // namespace

TEST_CASE("memory stays flat, three times the events or not", "[sync][memory]") {
  const Way way = GENERATE(Way::up, Way::down);
  // Below some ten full batches a peak has not been met yet.
  const Peaks small = measure(way, 100'000);
  const Peaks large = measure(way, 300'000);
  WARN((way == Way::up ? "up" : "down") << ": laptop " << small.laptop_kib << " then " << large.laptop_kib
                                        << " KiB, hub " << small.hub_kib << " then " << large.hub_kib << " KiB");
  constexpr long kSlackKib = 8 * 1024;
  CHECK(large.laptop_kib < small.laptop_kib + kSlackKib);
  CHECK(large.hub_kib < small.hub_kib + kSlackKib);
}
