#include "tests/simulation/fleet.h"

#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <stdexcept>

#include "sync/protocol/exchange.h"
#include "tests/simulation/network.h"
#include "tests/simulation/randomness.h"
#include "tests/support/world.h"

namespace rackside::simulation {

using namespace core;
using tests::World;

namespace {

constexpr Instant kStart = 1'790'877'600'000;          // 2026-10-01 18:00 UTC
constexpr Instant kClocksBack = 1'792'890'000'000;     // 2026-10-25 01:00 UTC, as in most of Europe
constexpr Instant kClocksForward = 1'806'195'600'000;  // 2027-03-28 01:00 UTC

Zone zone_of(const Setup& setup) {
  if (!setup.clocks_change) return {{{0, 60}}};
  return {{{0, 120}, {kClocksBack, 60}, {kClocksForward, 120}}};
}

std::string name_of(Sort sort, std::size_t number) {
  static constexpr std::array<const char*, 3> kNames = {"hub", "laptop", "phone"};
  return kNames.at(static_cast<std::size_t>(sort)) + std::string(" ") + std::to_string(number);
}

/// Everything that `to` lacks, without a word about clocks.
void carry(Book& from, Book& to) {
  std::vector<Segment> all;
  const auto take = [&](Segment&& segment) {
    all.push_back(std::move(segment));
    return true;
  };
  PeerVector points{.heads = to.heads()};
  const std::vector<DeviceId> unclear = from.missing_for(points, take);
  if (!unclear.empty()) {
    std::erase_if(points.heads, [&](const Head& head) {
      return std::find(unclear.begin(), unclear.end(), head.device) != unclear.end();
    });
    for (const DeviceId& device : unclear) {
      const auto rungs = to.ladder(device);
      points.heads.insert(points.heads.end(), rungs.begin(), rungs.end());
    }
    points.laddered = unclear;
    all.clear();
    from.missing_for(points, take);
  }
  to.merge(all);
}

}  // namespace

Fleet::Fleet(const Setup& setup) : now(kStart), setup_(setup) {
  static int fleets = 0;
  install_disks();
  folder_ = (std::filesystem::temp_directory_path() /
             ("rackside-simulation-" + std::to_string(getpid()) + "-" + std::to_string(++fleets)))
                .string();
  found(setup);
  register_everything();
  for (std::size_t i = 1; i < setup.devices.size(); ++i) join(machines_.front(), setup.devices[i]);
}

Fleet::~Fleet() {
  machines_.clear();
  std::error_code ignored;
  std::filesystem::remove_all(folder_, ignored);
}

Machine Fleet::new_machine(Sort sort, std::size_t number) {
  Machine made{.name = name_of(sort, number), .sort = sort, .started = now, .run = next_run(), .keeper = number < 2};
  made.disk = std::make_unique<Disk>(folder_ + "/" + std::to_string(number));
  return made;
}

void Fleet::found(const Setup& setup) {
  Machine hub = new_machine(Sort::hub, 0);
  const Book::Founding founding{.keeper = "",
                                .zone = zone_of(setup),
                                .root = World::key("root"),
                                .device = World::key(hub.name),
                                .keeper_code = World::code(CodeKind::helper, "keeper")};
  hub.device = device_id_of(founding.device.public_key());
  hub.book = std::make_unique<Book>(Book::create(hub.path(), founding, hub.clock(now)));
  machines_.push_back(std::move(hub));
}

std::string Fleet::animal(int i) const {
  const int number = i % (2 * setup_.animals);
  return World::code(CodeKind::animal, "animal " + std::to_string(number)).str();
}
std::string Fleet::place(int i) const {
  return World::code(CodeKind::place, "place " + std::to_string(i % setup_.places)).str();
}
std::string Fleet::rack(int i) const {
  return World::code(CodeKind::rack, "rack " + std::to_string(i % setup_.racks)).str();
}

/// The register as it was entered before the story begins: racks, places, animals, and each animal in its tub.
void Fleet::register_everything() {
  std::vector<Draft> drafts;
  const auto set = [](Value::Object fields) { return Value::Object{{"set", std::move(fields)}}; };
  for (int i = 0; i < setup_.racks; ++i)
    drafts.push_back({.kind = Kind::rack, .of = {rack(i)}, .own = set({{"short_id", "R" + std::to_string(i)}})});
  for (int i = 0; i < setup_.places; ++i) {
    drafts.push_back(
        {.kind = Kind::place,
         .of = {place(i)},
         .own = set({{"short_id", "T" + std::to_string(i)}, {"rack", rack(i)}, {"position", i / setup_.racks}})});
  }
  for (int i = 0; i < setup_.animals; ++i) {
    drafts.push_back({.kind = Kind::animal,
                      .of = {animal(i)},
                      .own = set({{"short_id", "A" + std::to_string(i)},
                                  {"species", "corn-snake"},
                                  {"sex", i % 3 == 0 ? "male" : "female"}})});
    drafts.push_back({.kind = Kind::moved, .of = {animal(i)}, .place = place(i)});
  }
  record(machines_.front(), std::move(drafts));
}

Machine& Fleet::keeper(int who) {
  std::vector<std::size_t> keepers;
  for (std::size_t i = 0; i < machines_.size(); ++i) {
    if (machines_[i].keeper && machines_[i].book) keepers.push_back(i);
  }
  return machines_[keepers[static_cast<std::size_t>(who) % keepers.size()]];
}

std::size_t Fleet::index_of(const Machine& machine) const {
  return static_cast<std::size_t>(&machine - machines_.data());
}

void Fleet::record(Machine& machine, std::vector<Draft> drafts) {
  if (!machine.book || drafts.empty()) return;
  attempts_ += drafts.size();
  const std::size_t which = index_of(machine);
  with_disks({which}, [&] {
    for (const EventRef& ref : machine.book->record(std::move(drafts), machine.clock(now)))
      acknowledged_.push_back({ref, which});
  });
}

void Fleet::join(Machine& admitter, Sort sort) {
  const std::size_t number = machines_.size();
  Machine made = new_machine(sort, number);
  const KeyPair key = World::key(made.name);
  made.device = device_id_of(key.public_key());
  record(admitter,
         {{.kind = Kind::admitted,
           .own = Value::Object{{"device", to_hex(made.device)}, {"role", made.keeper ? "keeper" : "helper"}}}});
  made.book = std::make_unique<Book>(Book::create_member(
      made.path(), admitter.book->collection(), key, World::code(CodeKind::helper, made.name).str(), made.clock(now)));
  const std::size_t by = index_of(admitter);
  machines_.push_back(std::move(made));
  exchange(machines_.back(), machines_[by], 0, 0);
}

void Fleet::exchange(Machine& mine, Machine& other, int roughness, std::uint64_t seed) {
  if (!mine.book || !other.book || &mine == &other) return;
  const auto clock_of = [this](Machine& machine) -> sync::ClockSource {
    return [this, &machine] { return machine.clock(now); };
  };
  const std::size_t far = index_of(other);
  seed_randomness(++contacts_);
  RoughPeer peer(sync::Responder(*other.book, other.name, clock_of(other)), roughness, seed,
                 [&](const std::string& body) { in_the_air_.emplace_back(far, body); });
  try {
    with_disks({index_of(mine), far}, [&] { sync::exchange(*mine.book, mine.name, peer, clock_of(mine)); });
  } catch (const Error& error) {
    if (error.fault() != Fault::unreachable)
      complain(mine.name + " could not exchange with " + other.name + ": " + error.what());
  }
}

void Fleet::deliver_late(int which) {
  if (in_the_air_.empty()) return;
  const auto at =
      in_the_air_.begin() + static_cast<std::ptrdiff_t>(static_cast<std::size_t>(which) % in_the_air_.size());
  const auto [to, body] = *at;
  in_the_air_.erase(at);
  Machine& machine = machines_[to];
  if (!machine.book) return;
  seed_randomness(++contacts_);
  try {
    with_disks({to}, [&, late = body] {
      sync::Responder(*machine.book, machine.name, [&] { return machine.clock(now); }).push(late);
    });
  } catch (const Error& error) {
    // What it follows may have been lost for good: then it is refused whole, and an exchange brings it.
    if (error.fault() != Fault::broken_chain)
      complain(machine.name + " could not take what came late: " + error.what());
  }
}

void Fleet::lose(Machine& machine) {
  if (machine.sort == Sort::hub) return;
  machine.book.reset();
  forget_what_nobody_holds();
}

void Fleet::restart(Machine& machine) {
  with_disks({index_of(machine)}, [&] { reopen(machine); });
}

void Fleet::reopen(Machine& machine) {
  machine.book.reset();
  machine.started = now;
  machine.asleep_ms = 0;
  machine.run = next_run();
  machine.book = std::make_unique<Book>(Book::open(machine.path()));
}

void Fleet::back_up(Machine& machine) {
  machine.backup = machine.disk->image();
}

void Fleet::revert(Machine& machine) {
  if (machine.backup.empty()) return;
  machine.book.reset();
  machine.disk->power_on();
  machine.disk->restore(machine.backup);
  reopen(machine);
  for (Acknowledged& one : acknowledged_) {
    if (one.machine == index_of(machine) && !holds(machine, one.ref)) one.machine = kNobody;
  }
  forget_what_nobody_holds();
}

void Fleet::fork(Machine& machine) {
  if (machine.backup.empty()) return;
  Machine twin = new_machine(machine.sort == Sort::hub ? Sort::laptop : machine.sort, machines_.size());
  twin.name += " (a copy of " + machine.name + ")";
  twin.keeper = machine.keeper;
  twin.device = machine.device;
  twin.clock_error_ms = machine.clock_error_ms;
  twin.disk->restore(machine.backup);
  reopen(twin);
  machines_.push_back(std::move(twin));
}

void Fleet::tidy(Machine& machine) {
  with_disks({index_of(machine)}, [&] { machine.book->tidy(); });
}

// ---- disks that fail

void Fleet::with_disks(const std::vector<std::size_t>& touched, const std::function<void()>& work) {
  const auto mend_all = [&](Fault fault) {
    bool explained = false;
    for (const std::size_t which : touched) explained = mend(which, fault) || explained;
    return explained;
  };
  try {
    work();
  } catch (const Error& error) {
    if (!mend_all(error.fault())) throw;
    return;
  }
  mend_all(Fault::internal);  // a tidying that failed says nothing
  // A copied book goes on as another device once it has met the other's events.
  for (const std::size_t which : touched) {
    if (machines_[which].book) machines_[which].device = machines_[which].book->device();
  }
}

/// Whether a fault of this disk explains what went wrong. A program that was told that a write or a sync failed stops,
/// as the book asks of it; on a full disk it goes on.
bool Fleet::mend(std::size_t which, Fault fault) {
  Machine& machine = machines_[which];
  const bool dead = machine.disk->dead();
  if (!dead && !machine.disk->struck()) return false;
  if (!dead && fault != Fault::disk_fault) return fault == Fault::disk_full;
  machine.book.reset();
  if (dead) machine.disk->power_on();
  try {
    reopen(machine);
    expect_what_was_saved(which);
  } catch (const Error& error) {
    complain(machine.name + " cannot open its book after its disk failed: " + error.what());
  }
  return true;
}

/// Right after a disaster, before anybody could bring it back.
void Fleet::expect_what_was_saved(std::size_t which) {
  for (const Acknowledged& one : acknowledged_) {
    if (one.machine == which && !holds(machines_[which], one.ref))
      complain(machines_[which].name + " lost what it had called saved when its disk failed: " + to_text(one.ref));
  }
  const std::string damage = machines_[which].book->database().integrity_problem();
  if (!damage.empty()) complain(machines_[which].name + " has a damaged book after its disk failed: " + damage);
}

bool Fleet::holds(Machine& machine, const EventRef& ref) {
  machine.book->refresh();
  return machine.book->log().find(ref) != 0;
}

/// A lost device and a restored backup take with them what they had told nobody: no program can prevent that.
void Fleet::forget_what_nobody_holds() {
  std::erase_if(acknowledged_, [&](const Acknowledged& one) {
    return std::none_of(machines_.begin(), machines_.end(),
                        [&](Machine& machine) { return machine.book && holds(machine, one.ref); });
  });
}

void Fleet::require_hub() const {
  if (!machines_.front().book) throw std::runtime_error("the hub has lost its book");
}

void Fleet::heal() {
  constexpr int kExchanges = 3;
  require_hub();
  for (Machine& machine : machines_) machine.disk->power_on();
  Machine& hub = machines_.front();
  const auto each_other = [&](const auto& work) {
    for (Machine& machine : machines_) {
      if (machine.book && &machine != &hub) work(machine);
    }
  };
  for (int round = 0; round < kExchanges; ++round) each_other([&](Machine& one) { exchange(one, hub, 0, 0); });
  // Two copies of one device with different clocks make the hub note a clock at every exchange; so the last words are
  // carried without.
  for (int round = 0; round < 2; ++round) {
    each_other([&](Machine& one) {
      carry(*one.book, *hub.book);
      carry(*hub.book, *one.book);
    });
  }
}

}  // namespace rackside::simulation
