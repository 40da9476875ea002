#pragma once

#include <functional>
#include <map>
#include <memory>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "core/book/book.h"
#include "tests/simulation/disk.h"
#include "tests/simulation/script.h"

namespace rackside::simulation {

/// Small numbers from a seed, the same with every compiler and library.
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : engine_(seed) {}
  int below(int n) { return static_cast<int>(engine_() % static_cast<std::uint64_t>(n)); }
  bool percent(int chance) { return below(100) < chance; }

 private:
  std::mt19937_64 engine_;
};

/// One device: a book, the disk under it, and a clock that may be wrong.
struct Machine {
  std::string name;
  Sort sort = Sort::laptop;
  core::DeviceId device{};
  std::unique_ptr<Disk> disk;
  std::unique_ptr<core::Book> book;  ///< null once the device is lost
  Disk::Image backup;                ///< the last copy that was made of its book
  core::Instant clock_error_ms = 0;  ///< added to the true time
  core::Instant asleep_ms = 0;       ///< how long its monotonic clock stood still
  core::Instant started = 0;         ///< true time at which its program started
  std::uint64_t run = 0;
  bool keeper = false;

  std::string path() const { return disk->folder() + "/book"; }
  core::ClockReading clock(core::Instant now) const {
    return {now + clock_error_ms, run, std::max<core::Instant>(0, now - started - asleep_ms)};
  }
};

/// An event that some device called saved.
constexpr std::size_t kNobody = SIZE_MAX;
struct Acknowledged {
  core::EventRef ref;
  std::size_t machine = 0;  ///< must still hold it after every disaster; kNobody once it went back to a backup
};

/// The devices of one collection, and what they were promised.
class Fleet {
 public:
  explicit Fleet(const Setup& setup);
  ~Fleet();
  Fleet(const Fleet&) = delete;
  Fleet& operator=(const Fleet&) = delete;

  core::Instant now = 0;
  std::vector<Machine>& machines() { return machines_; }
  Machine& machine(int who) { return machines_[static_cast<std::size_t>(who) % machines_.size()]; }
  /// A keeper's device: of those, the `who`-th.
  Machine& keeper(int who);
  const Setup& setup() const { return setup_; }

  /// Writes as that device; on success the events are acknowledged.
  void record(Machine& machine, std::vector<core::Draft> drafts);
  /// Admits a new device and gives it what its admitter holds.
  void join(Machine& admitter, Sort sort);
  /// A full exchange over a network of that roughness.
  void exchange(Machine& mine, Machine& other, int roughness, std::uint64_t seed);
  /// Something that was held back arrives.
  void deliver_late(int which);
  void lose(Machine& machine);
  /// Its program starts anew: closes and opens its book.
  void restart(Machine& machine);
  void back_up(Machine& machine);
  /// Goes on from its backup; what only this book held since is gone.
  void revert(Machine& machine);
  /// A second machine that believes to be the same device comes to life from the backup.
  void fork(Machine& machine);
  void tidy(Machine& machine);
  /// Throws std::runtime_error when a disaster left the hub without a readable book: then nothing goes on.
  void require_hub() const;
  /// No more faults: everybody exchanges with the hub until nobody has anything new.
  void heal();

  std::string animal(int i) const;  ///< code; beyond the animals: further cards, that `coded` joins
  std::string place(int i) const;
  std::string rack(int i) const;

  const std::vector<Acknowledged>& acknowledged() const { return acknowledged_; }
  std::size_t attempts() const { return attempts_; }
  /// What went wrong on the way: faults that no fault of the world explains.
  const std::vector<std::string>& trouble() const { return trouble_; }
  void complain(const std::string& what) { trouble_.push_back(what); }

 private:
  void found(const Setup& setup);
  void register_everything();
  std::uint64_t next_run() { return ++runs_; }
  std::size_t index_of(const Machine& machine) const;
  Machine new_machine(Sort sort, std::size_t number);
  /// Does work that touches these machines' disks. A fault of such a disk ends the work and is mended: after a crash
  /// or a failed write the program starts anew, with a full disk it goes on. Every other fault is thrown on.
  void with_disks(const std::vector<std::size_t>& touched, const std::function<void()>& work);
  bool mend(std::size_t which, core::Fault fault);
  void reopen(Machine& machine);
  void expect_what_was_saved(std::size_t which);
  void forget_what_nobody_holds();
  bool holds(Machine& machine, const core::EventRef& ref);

  Setup setup_;
  std::string folder_;
  std::vector<Machine> machines_;
  std::vector<Acknowledged> acknowledged_;
  std::size_t attempts_ = 0;  ///< entries that somebody tried to save, saved or not
  std::uint64_t runs_ = 0;
  std::uint64_t contacts_ = 0;
  std::vector<std::pair<std::size_t, std::string>> in_the_air_;  ///< pushes that the network still holds: to whom, what
  std::vector<std::string> trouble_;
};

}  // namespace rackside::simulation
