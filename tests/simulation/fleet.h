#pragma once

#include <map>
#include <memory>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "core/book/book.h"
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
  std::unique_ptr<core::Book> book;  ///< null once the device is lost
  core::Instant clock_error_ms = 0;  ///< added to the true time
  core::Instant asleep_ms = 0;       ///< how long its monotonic clock stood still
  core::Instant started = 0;         ///< true time at which its program started
  std::uint64_t run = 0;
  bool keeper = false;

  core::ClockReading clock(core::Instant now) const {
    return {now + clock_error_ms, run, std::max<core::Instant>(0, now - started - asleep_ms)};
  }
};

/// An event that some device called saved.
struct Acknowledged {
  core::EventRef ref;
  std::size_t machine = 0;
};

/// The devices of one collection, and what they were promised.
class Fleet {
 public:
  explicit Fleet(const Setup& setup);

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
  void restart(Machine& machine);
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

  Setup setup_;
  std::vector<Machine> machines_;
  std::vector<Acknowledged> acknowledged_;
  std::size_t attempts_ = 0;  ///< entries that somebody tried to save, saved or not
  std::uint64_t runs_ = 0;
  std::vector<std::pair<std::size_t, std::string>> in_the_air_;  ///< pushes that the network still holds: to whom, what
  std::vector<std::string> trouble_;
};

}  // namespace rackside::simulation
