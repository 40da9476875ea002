// Histories 5, 8 and 11: forks, clocks, admission and settings.
#include "core/crypto/sha256.h"
#include "tests/history/helpers.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {
const std::string kAnimal = World::animal("one");

Value whom(Device& device) {
  return Value::Object{{"device", to_hex(device.book().device())}};
}

void carry_signed(World& world, Device& from, Device& to) {
  from.book().prepare_sync(from.clock(world.now));
  world.carry(from.book(), to.book());
}
void exchange(World& world, Device& one, Device& other) {
  carry_signed(world, one, other);
  carry_signed(world, other, one);
}
}  // namespace

// ---- history 5

TEST_CASE("history 5: a restored phone makes a fork, and every book keeps both branches") {
  ThreeHelpers h;
  Copy backup(h.a, "restored");
  const EventRef old_branch = h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.pass(kMinute);
  const EventRef new_branch = h.world.record(backup.device(), Kind::refused, {kAnimal});
  CHECK(old_branch.seq == new_branch.seq);
  CHECK(old_branch.hash != new_branch.hash);
  carry_signed(h.world, h.a, h.world.hub());
  carry_signed(h.world, backup.device(), h.b);  // a laptop meets the new branch first
  const EventRef undone = h.world.voids(h.b, new_branch);
  exchange(h.world, h.b, h.world.hub());
  for (Device* device : {&h.b, &h.world.hub()}) {
    CHECK(device->book().check().forked == std::vector<DeviceId>{h.a.book().device()});
    CHECK(device->book().check().problems == std::vector<std::string>{});
    CHECK(is_void(device->book(), new_branch));
    CHECK_FALSE(is_void(device->book(), old_branch));
  }
  CHECK(h.b.book().digest() == h.world.hub().book().digest());
  h.world.restores(h.c, undone);
  h.all.push_back(&backup.device());
  const auto book = h.merged();
  CHECK(only(*book, RuleId::feeding, kAnimal).outcome == "check-tub");  // on two branches nobody was first
}

TEST_CASE("history 5: a third phone's older events and the phone's successor meet the fork") {
  ThreeHelpers h;
  h.check_clocks();
  const EventRef older = h.world.record(h.c, Kind::offered, {kAnimal});
  Copy backup(h.a, "succeeded");
  h.world.record(h.a, Kind::fed, {kAnimal}, {.re = saw(older)});
  h.world.record(backup.device(), Kind::refused, {kAnimal}, {.re = saw(older)});
  exchange(h.world, h.a, h.world.hub());
  exchange(h.world, backup.device(), h.b);
  exchange(h.world, h.b, h.world.hub());
  const KeyPair heir = World::key("heir");
  h.world.record(h.a, Kind::succeeded, {}, {.own = Value::Object{{"device", to_hex(device_id_of(heir.public_key()))}}});
  Device next(Book::create_member(":memory:", h.a.book().collection(), heir, "", h.a.clock(h.world.now)), "heir");
  carry_signed(h.world, h.a, next);
  const EventRef fed = h.world.record(next, Kind::fed, {kAnimal});
  exchange(h.world, next, h.world.hub());
  exchange(h.world, h.a, h.world.hub());
  exchange(h.world, h.c, h.world.hub());
  CHECK(is_read(h.world.hub().book(), fed));
  CHECK(h.c.book().digest() == h.world.hub().book().digest());
  CHECK(h.c.book().check().problems == std::vector<std::string>{});
}

TEST_CASE("history 5: two tabs that write one number each are two branches, whichever comes first") {
  ThreeHelpers h;
  Copy tab(h.a, "tab");
  const EventRef one = h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.record(tab.device(), Kind::fed, {kAnimal});
  h.world.record(tab.device(), Kind::shed, {kAnimal});
  h.world.record(h.a, Kind::weighed, {kAnimal}, {.re = saw(one)});
  h.all.push_back(&tab.device());
  const auto book = h.merged();
  CHECK(only(*book, RuleId::feeding, kAnimal).members.size() == 2);
  CHECK(book->check().forked.size() == 1);
}

TEST_CASE("history 5: clock checks of one branch correct the shared part of a fork on every book") {
  ThreeHelpers h;
  h.a.clock_error_ms = -kHour;
  const EventRef shared = h.world.record(h.a, Kind::fed, {kAnimal});
  Copy backup(h.a, "clock");
  backup.device().clock_error_ms = -kHour;
  h.world.pass(kMinute);
  const EventRef other = h.world.record(backup.device(), Kind::shed, {kAnimal});
  h.world.pass(kMinute);
  h.world.record(h.a, Kind::weighed, {kAnimal});
  h.world.sync(h.a, h.world.hub());
  h.all.push_back(&backup.device());
  const auto book = h.merged();
  CHECK(account(*book, shared).sure);
  CHECK(account(*book, shared).observed == account(*book, other).observed + kHour - kMinute);
}

// ---- history 8

TEST_CASE("history 8: what a phone in 2001 recorded stays unsure when it gets the time before it syncs") {
  ThreeHelpers h;
  h.a.clock_error_ms = -25LL * 365 * kDay;
  const EventRef early = h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.pass(kHour);
  h.a.clock_error_ms = 0;
  const EventRef later = h.world.record(h.a, Kind::refused, {kAnimal});
  h.world.sync(h.a, h.world.hub());
  const auto book = h.merged();
  CHECK_FALSE(account(*book, early).sure);
  CHECK(account(*book, later).sure);
}

TEST_CASE("history 8: a phone a month behind that gets the time while it runs had another clock before") {
  ThreeHelpers h;
  h.a.clock_error_ms = -30 * kDay;
  const EventRef early = h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.pass(kHour);
  h.a.clock_error_ms = 0;
  h.world.record(h.a, Kind::refused, {kAnimal});
  h.world.sync(h.a, h.world.hub());
  CHECK_FALSE(account(*h.merged(), early).sure);
}

TEST_CASE("history 8: a clock that was off by hours all along is corrected by the check at the next sync") {
  ThreeHelpers h;
  h.a.clock_error_ms = 5 * kHour;
  const EventRef fed = h.world.record(h.a, Kind::fed, {kAnimal});
  const Instant then = h.world.now;
  h.world.pass(2 * kHour);
  h.world.sync(h.a, h.world.hub());
  const auto book = h.merged();
  CHECK(account(*book, fed).sure);
  CHECK(account(*book, fed).observed == then);
}

TEST_CASE("history 8: a check by a device that is no clock counts for nothing, beside or before one that does") {
  ThreeHelpers h;
  h.a.clock_error_ms = 5 * kHour;
  const EventRef fed = h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.record(h.b, Kind::clock_checked, {}, {.re = saw(fed), .own = Value::Object{{"offset", 77}}});
  CHECK_FALSE(account(*h.merged(), fed).sure);
  const Instant then = h.world.now;
  h.world.record(h.a, Kind::shed, {kAnimal});
  h.world.sync(h.a, h.world.hub());
  const auto book = h.merged();
  CHECK(account(*book, fed).sure);
  CHECK(account(*book, fed).observed == then);
}

TEST_CASE("history 8: a check holds for a day after it, and no longer") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.pass(23 * kHour);
  const EventRef within = h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.pass(3 * kHour);
  const EventRef beyond = h.world.record(h.a, Kind::fed, {kAnimal});
  const auto book = h.merged();
  CHECK(account(*book, within).sure);
  CHECK_FALSE(account(*book, beyond).sure);
}

TEST_CASE(
    "history 8: a said time is the last such before the entry; with its date it is sure; relative it counts back") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.at(1, 8, 0);
  const Instant morning = h.world.now;
  const EventRef evening = h.world.record(h.a, Kind::fed, {kAnimal}, {.said = SaidTime{.minute = 21 * 60}});
  const EventRef earlier = h.world.record(h.a, Kind::shed, {kAnimal}, {.said = SaidTime{.minute = 7 * 60}});
  const EventRef relative = h.world.record(h.a, Kind::opaque, {kAnimal}, {.said = SaidTime{.minutes_ago = 120}});
  h.b.clock_error_ms = 40 * kDay;
  const auto day = static_cast<int>(morning / kDay);
  const EventRef dated = h.world.record(h.b, Kind::shed, {kAnimal}, {.said = SaidTime{.day = day, .minute = 7 * 60}});
  const auto book = h.merged();
  CHECK(account(*book, evening).observed == morning - 11 * kHour);
  CHECK(account(*book, earlier).observed == morning - kHour);
  CHECK(account(*book, relative).observed == morning - 2 * kHour);
  CHECK(account(*book, dated).observed == morning - kHour);
  CHECK(account(*book, dated).sure);
}

TEST_CASE("history 8: where clocks go back, a said time of the doubled hour is the earlier one") {
  // 2026-10-25 01:00 UTC, from +2 to +1 hours: the rule of the European Union, Directive 2000/84/EC.
  const Instant change = 1'792'890'000'000;
  World world({{{0, 120}, {change, 60}}});
  Device& a = world.device("a");
  world.now = change + 2 * kHour;
  const EventRef fed = world.record(a, Kind::fed, {kAnimal}, {.said = SaidTime{.minute = 2 * 60 + 30}});
  world.sync(a, world.hub());
  const auto book = world.check_arrivals({&world.hub(), &a});
  CHECK(account(*book, fed).observed == change - 30 * kMinute);
}

// ---- history 11

TEST_CASE("history 11: two keepers who retire each other are both read: neither is the other's ancestor") {
  ThreeHelpers h;
  Device& one = h.world.device("keeper one", Role::keeper);
  Device& two = h.world.device("keeper two", Role::keeper);
  h.all.insert(h.all.end(), {&one, &two});
  h.world.record(one, Kind::retired, {}, {.own = whom(two)});
  h.world.record(two, Kind::retired, {}, {.own = whom(one)});
  const EventRef by_one = h.world.record(one, Kind::fed, {kAnimal});
  const EventRef by_two = h.world.record(two, Kind::fed, {kAnimal});
  const auto book = h.merged();
  CHECK(is_read(*book, by_one));
  CHECK(is_read(*book, by_two));
}

TEST_CASE("history 11: a retired device that dates back through a relay is not read beyond its head") {
  ThreeHelpers h;
  h.check_clocks();
  const EventRef last = h.world.record(h.a, Kind::fed, {kAnimal});
  exchange(h.world, h.a, h.world.hub());
  h.world.record(h.world.hub(), Kind::retired, {}, {.re = saw(last), .own = whom(h.a)});
  h.a.clock_error_ms = -20 * kDay;
  const EventRef stolen = h.world.record(h.a, Kind::refused, {kAnimal});
  const EventRef undo = h.world.voids(h.a, last);
  exchange(h.world, h.a, h.b);  // the relay does not know yet
  CHECK(is_read(h.b.book(), stolen));
  exchange(h.world, h.b, h.world.hub());
  for (Book* book : {&h.b.book(), &h.world.hub().book()}) {
    CHECK(is_read(*book, last));
    CHECK_FALSE(is_read(*book, stolen));
    CHECK_FALSE(is_read(*book, undo));
    CHECK_FALSE(is_void(*book, last));
  }
  h.merged();
}

TEST_CASE("history 11: whom a device admitted after the head of its retirement is not read either") {
  ThreeHelpers h;
  Device& keeper = h.world.device("keeper", Role::keeper);
  const EventRef last = h.world.record(keeper, Kind::noted, {kAnimal});
  h.world.record(h.world.hub(), Kind::retired, {}, {.re = saw(last), .own = whom(keeper)});
  const KeyPair key = World::key("guest");
  h.world.record(keeper, Kind::admitted, {},
                 {.own = Value::Object{{"device", to_hex(device_id_of(key.public_key()))}, {"role", "helper"}}});
  Device guest(Book::create_member(":memory:", keeper.book().collection(), key, "", keeper.clock(h.world.now)),
               "guest");
  const EventRef fed = h.world.record(guest, Kind::fed, {kAnimal});
  carry_signed(h.world, keeper, guest);
  exchange(h.world, guest, h.world.hub());
  CHECK_FALSE(is_read(h.world.hub().book(), fed));
  CHECK(h.world.hub().book().check().unread >= 2);
}

TEST_CASE("history 11: after the hub's disk died the key file alone admits a new hub, which retires the old") {
  ThreeHelpers h;
  h.check_clocks();
  exchange(h.world, h.b, h.world.hub());
  const KeyPair root = World::key("root");
  const DeviceId root_id = device_id_of(root.public_key());
  Device hub(Book::create_member(":memory:", h.b.book().collection(), World::key("new hub"), "",
                                 {h.world.now, 5, h.world.now}),
             "new hub");
  carry_signed(h.world, h.b, hub);
  CHECK_FALSE(hub.book().is_clock());
  // The root's line ends where the laptop has it: the restorer goes on from there.
  Head end;
  for (const Head& head : hub.book().heads()) {
    if (head.device == root_id) end = head;
  }
  Event admitted{.kind = Kind::admitted, .kind_name = "admitted", .clock = {h.world.now, 5, h.world.now}};
  admitted.own = Value::Object{{"device", to_hex(hub.book().device())}, {"role", "keeper"}, {"clock", true}};
  Segment segment{.device = root_id,
                  .after = end.seq,
                  .previous = end.hash,
                  .events = {encode_event(admitted)},
                  .sealed = {std::nullopt}};
  const Hash hash = sha256({ByteSpan(end.hash), as_bytes(segment.events.front())});
  segment.signature = root.sign(as_bytes(head_message(hub.book().collection(), root_id, end.seq + 1, hash)));
  hub.book().merge({segment});
  CHECK(hub.book().is_clock());
  h.a.clock_error_ms = 3 * kHour;
  h.a.run = 9;
  const EventRef fed = h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.sync(h.a, hub);
  CHECK(account(hub.book(), fed).sure);
  CHECK(hub.book().digest() == h.a.book().digest());
  CHECK(hub.book().check().problems == std::vector<std::string>{});
}

TEST_CASE("history 11: a founding by anybody else founds nothing, though it begins its device's log") {
  ThreeHelpers h;
  const EventRef fed = h.world.record(h.a, Kind::fed, {kAnimal});
  const KeyPair key = World::key("impostor");
  const DeviceId id = device_id_of(key.public_key());
  Event founded{.kind = Kind::founded, .kind_name = "founded", .clock = {h.world.now, 5, h.world.now}};
  founded.own = Value::Object{{"key", to_hex(key.public_key())}, {"salt", std::string(32, '0')}};
  const CollectionId& collection = h.a.book().collection();
  Segment segment{.device = id, .previous = sha256({ByteSpan(collection), ByteSpan(id)})};
  segment.events = {encode_event(founded)};
  segment.sealed = {std::nullopt};
  const Hash hash = sha256({ByteSpan(segment.previous), as_bytes(segment.events.front())});
  segment.signature = key.sign(as_bytes(head_message(collection, id, 1, hash)));
  h.a.book().merge({segment});
  CHECK(is_read(h.a.book(), fed));
  CHECK(h.a.book().check().unread == 1);
}

TEST_CASE("history 11: a keeper retires nobody whom another keeper admitted") {
  ThreeHelpers h;
  Device& one = h.world.device("keeper one", Role::keeper);
  Device& two = h.world.device("keeper two", Role::keeper);
  std::vector<std::unique_ptr<Device>> guests;
  for (Device* keeper : {&one, &two}) {
    const KeyPair key = World::key("guest of " + keeper->name());
    guests.push_back(std::make_unique<Device>(
        Book::create_member(":memory:", one.book().collection(), key, "", {h.world.now, 1, h.world.now}), "guest"));
    h.world.record(*keeper, Kind::admitted, {},
                   {.own = Value::Object{{"device", to_hex(guests.back()->book().device())}, {"role", "helper"}}});
  }
  h.world.record(one, Kind::retired, {}, {.own = whom(*guests[1])});
  h.world.record(two, Kind::retired, {}, {.own = whom(*guests[0])});
  for (Device* keeper : {&one, &two}) exchange(h.world, *keeper, h.world.hub());
  for (const auto& guest : guests) {
    const EventRef fed = h.world.record(*guest, Kind::fed, {kAnimal});
    exchange(h.world, *guest, h.world.hub());
    CHECK(is_read(h.world.hub().book(), fed));
  }
}

TEST_CASE("history 11: the 1500th device joins and is read like the first") {
  ThreeHelpers h;
  std::vector<Draft> drafts;
  for (int i = 0; i < 1496; ++i) {
    const Hash name = sha256(as_bytes("phone " + std::to_string(i)));
    drafts.push_back({.kind = Kind::admitted,
                      .own = Value::Object{{"device", to_hex(ByteSpan(name).first(8))}, {"role", "helper"}}});
  }
  h.world.hub().book().record(drafts, h.world.hub().clock(h.world.now));
  Device& last = h.world.device("the last");
  const EventRef fed = h.world.record(last, Kind::fed, {kAnimal});
  exchange(h.world, last, h.world.hub());
  CHECK(is_read(h.world.hub().book(), fed));
  CHECK(last.book().digest() == h.world.hub().book().digest());
}

TEST_CASE("history 11: of two keepers' night starts the greater valid-from holds everywhere, and nobody is asked") {
  ThreeHelpers h;
  Device& keeper = h.world.device("keeper", Role::keeper);
  h.all.push_back(&keeper);
  const auto night = [](int minute, int from) {
    return Value::Object{{"key", "night_start"}, {"value", minute}, {"from", from}};
  };
  h.world.record(h.world.hub(), Kind::set, {}, {.own = night(15 * 60, 100)});
  h.world.record(keeper, Kind::set, {}, {.own = night(9 * 60, 200)});
  h.world.record(h.a, Kind::set, {}, {.own = night(1 * 60, 900)});  // a helper's word sets nothing
  h.world.at(1, 8, 0);
  h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.at(1, 10, 0);
  h.world.record(h.a, Kind::fed, {kAnimal});
  const auto book = h.merged();
  CHECK(load_settings(book->database()).night_start_minute == 9 * 60);
  CHECK(matters(*book, RuleId::feeding, kAnimal).empty());  // 08:00 and 10:00 are two nights
  CHECK(open_questions(*book) == 0);
}

TEST_CASE("history 8: a device that was silent since yesterday is sure of its times again after one sync today") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.at(1, 8, 0);
  h.check_clocks();
  h.world.at(1, 19, 0);
  h.world.record(h.a, Kind::fed, {World::animal("one")});
  h.world.pass(kHour);
  h.world.record(h.b, Kind::refused, {World::animal("one")});
  const Seen seen = only(*h.merged(), RuleId::feeding, World::animal("one"));
  CHECK(seen.outcome == "refused");
  CHECK_FALSE(seen.asks);
}

TEST_CASE("history 11: a device that was silent for a year merges at the cost of what it brings") {
  ThreeHelpers h;
  h.check_clocks();
  for (int day = 1; day <= 365; ++day) {
    h.world.at(day, 19, 0);
    for (const char* animal : {"one", "two", "three"}) h.world.record(h.b, Kind::fed, {World::animal(animal)});
    if (day % 30 == 0) exchange(h.world, h.b, h.world.hub());
  }
  exchange(h.world, h.b, h.world.hub());
  for (const char* animal : {"one", "two", "four"}) h.world.record(h.a, Kind::shed, {World::animal(animal)});
  h.a.book().prepare_sync(h.a.clock(h.world.now));
  h.world.carry(h.a.book(), h.world.hub().book());
  const RefoldStats cost = h.world.hub().book().last_fold();
  CHECK_FALSE(cost.all);
  CHECK(cost.derived <= 6);
  CHECK(cost.grouped <= 12);
  exchange(h.world, h.a, h.world.hub());
  CHECK(h.a.book().digest() == h.world.hub().book().digest());
}
