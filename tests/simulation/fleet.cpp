#include "tests/simulation/fleet.h"

#include <algorithm>

#include "sync/protocol/exchange.h"
#include "tests/simulation/network.h"
#include "tests/support/world.h"

namespace rackside::simulation {

using namespace core;
using tests::World;

namespace {

constexpr Instant kStart = 1'790'877'600'000;          // 2026-10-01 18:00 UTC
constexpr Instant kClocksBack = 1'792'890'000'000;     // 2026-10-25 01:00 UTC, as in most of Europe
constexpr Instant kClocksForward = 1'806'195'600'000;  // 2027-03-28 01:00 UTC
constexpr const char* kInMemory = ":memory:";

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
  found(setup);
  register_everything();
  for (std::size_t i = 1; i < setup.devices.size(); ++i) join(machines_.front(), setup.devices[i]);
}

void Fleet::found(const Setup& setup) {
  Machine hub{.name = "hub 0", .sort = Sort::hub, .started = now, .run = next_run(), .keeper = true};
  const Book::Founding founding{.keeper = "",
                                .zone = zone_of(setup),
                                .root = World::key("root"),
                                .device = World::key(hub.name),
                                .keeper_code = World::code(CodeKind::helper, "keeper")};
  hub.device = device_id_of(founding.device.public_key());
  hub.book = std::make_unique<Book>(Book::create(kInMemory, founding, hub.clock(now)));
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
  for (const EventRef& ref : machine.book->record(std::move(drafts), machine.clock(now)))
    acknowledged_.push_back({ref, index_of(machine)});
}

void Fleet::join(Machine& admitter, Sort sort) {
  const std::size_t number = machines_.size();
  Machine made{.name = name_of(sort, number), .sort = sort, .started = now, .run = next_run(), .keeper = number == 1};
  const KeyPair key = World::key(made.name);
  made.device = device_id_of(key.public_key());
  record(admitter,
         {{.kind = Kind::admitted,
           .own = Value::Object{{"device", to_hex(made.device)}, {"role", made.keeper ? "keeper" : "helper"}}}});
  made.book = std::make_unique<Book>(Book::create_member(
      kInMemory, admitter.book->collection(), key, World::code(CodeKind::helper, made.name).str(), made.clock(now)));
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
  RoughPeer peer(sync::Responder(*other.book, other.name, clock_of(other)), roughness, seed,
                 [&](const std::string& body) { in_the_air_.emplace_back(far, body); });
  try {
    sync::exchange(*mine.book, mine.name, peer, clock_of(mine));
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
  try {
    sync::Responder(*machine.book, machine.name, [&] { return machine.clock(now); }).push(body);
  } catch (const Error& error) {
    // What it follows may have been lost for good: then it is refused whole, and an exchange brings it.
    if (error.fault() != Fault::broken_chain)
      complain(machine.name + " could not take what came late: " + error.what());
  }
}

void Fleet::lose(Machine& machine) {
  if (machine.sort == Sort::hub) return;
  machine.book.reset();
}

void Fleet::restart(Machine& machine) {
  machine.started = now;
  machine.asleep_ms = 0;
  machine.run = next_run();
}

void Fleet::heal() {
  constexpr int kExchanges = 3;
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
