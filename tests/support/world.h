#pragma once

#include <map>
#include <memory>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "core/book/book.h"

namespace rackside::tests {

/// One device of a made-up collection: a book in memory and a clock that may be wrong.
class Device {
 public:
  Device(core::Book book, std::string name) : book_(std::move(book)), name_(std::move(name)) {}
  core::Book& book() { return book_; }
  const std::string& name() const { return name_; }

  std::int64_t clock_error_ms = 0;  ///< added to the true time
  std::uint64_t run = 1;            ///< change it to restart the device
  core::ClockReading clock(core::Instant true_time) const { return {true_time + clock_error_ms, run, true_time}; }

 private:
  core::Book book_;
  std::string name_;
};

/// How an entry differs from a plain one of an animal's card.
struct Entry {
  std::vector<core::Answer> re;
  std::string place;
  std::vector<std::string> shown;
  core::Value own;
  std::optional<core::SaidTime> said;
};

/// A hub and other devices, with true time that only the test moves. Keys, codes and times depend on nothing but the
/// names used, so that a history gives the same bytes in every run (salts aside, which are in no digest here).
class World {
 public:
  /// The true time starts on 2026-10-01, 18:00 UTC; the zone is UTC+1 unless given; feeding nights start at noon.
  explicit World(core::Zone zone = {{{0, 60}}});

  Device& hub() { return *devices_.at("hub"); }
  /// A device that the hub admitted and that has synced once (so that it knows the collection's settings).
  Device& device(const std::string& name, core::Role role = core::Role::helper);

  core::Instant now = 0;
  void pass(core::Instant milliseconds) { now += milliseconds; }
  /// Sets the true time to a local clock time `days` after the first day.
  void at(int days, int hour, int minute);

  /// Records one event at the true time, as the device's clock reads it.
  core::EventRef record(Device& who, core::Kind kind, const std::vector<std::string>& of, Entry entry = {});
  core::EventRef voids(Device& who, const core::EventRef& what) {
    return record(who, core::Kind::voided, {}, {{{what, core::Relation::saw}}});
  }
  core::EventRef restores(Device& who, const core::EventRef& what) {
    return record(who, core::Kind::restored, {}, {{{what, core::Relation::saw}}});
  }
  core::EventRef settles(Device& who, const std::string& rule, const std::vector<core::EventRef>& members,
                         const std::string& answer);

  /// A full sync of two devices: clock checks, then both directions.
  void sync(Device& a, Device& b);
  void sync_all();
  /// Moves events without a clock check and without marking clocks: only what is signed travels.
  void carry(core::Book& from, core::Book& to);

  /// Everything that the given books hold, one event a segment, each signed. Makes the histories' arrivals.
  std::vector<core::Segment> segments(const std::vector<Device*>& devices);
  /// A fresh book that has taken the segments in that order (a chain's order is kept by the caller).
  std::unique_ptr<core::Book> arrival(const std::vector<core::Segment>& order);
  /// Checks that every one of `trials` random arrivals (interleaved, duplicated, split into batches) gives one digest,
  /// equal to a fold from nothing. Returns a book to look at.
  std::unique_ptr<core::Book> check_arrivals(const std::vector<Device*>& devices, int trials = 12, unsigned seed = 1);
  /// The same as text: empty when all agree.
  std::string arrivals_differ(const std::vector<Device*>& devices, int trials, unsigned seed);
  /// Checks every interleaving of what was written at or after a true time; what is older comes first. For few events.
  std::unique_ptr<core::Book> check_every_order(const std::vector<Device*>& devices, core::Instant since);

  static core::Code code(core::CodeKind kind, const std::string& name);
  static std::string animal(const std::string& name) { return code(core::CodeKind::animal, name).str(); }
  static std::string place(const std::string& name) { return code(core::CodeKind::place, name).str(); }
  static core::KeyPair key(const std::string& name);

 private:
  std::unique_ptr<core::Book> random_arrival(const std::vector<core::Segment>& all, std::mt19937& random);

  std::map<std::string, std::unique_ptr<Device>> devices_;
  core::Zone zone_;
};

/// What a book says of one matter, for tests to read.
struct Seen {
  std::string outcome;
  std::int64_t amount = 0;
  bool asks = false;
  std::vector<core::EventRef> members;
  core::Value detail;
  std::vector<std::string> answers;
};
/// All matters of a rule about a thing (by code; "" for withdrawals), ascending by time.
std::vector<Seen> matters(core::Book& book, core::RuleId rule, const std::string& code);
std::size_t open_questions(core::Book& book);
/// Whether the event is live (not void, read) and whom it tells of, as codes.
std::set<std::string> subjects(core::Book& book, const core::EventRef& ref);
bool is_read(core::Book& book, const core::EventRef& ref);
bool is_void(core::Book& book, const core::EventRef& ref);
core::Account account(core::Book& book, const core::EventRef& ref);
/// Where an animal is at a time: the code of the place ("" nowhere), visits before home.
std::string whereabouts(core::Book& book, const std::string& animal, core::Instant at);
std::string field(core::Book& book, const std::string& code, const std::string& name);

}  // namespace rackside::tests
