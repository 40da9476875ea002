#include "tests/support/world.h"

#include <algorithm>
#include <random>
#include <sstream>

#include "core/crypto/sha256.h"
#include "tests/support/catch.h"

namespace rackside::tests {

using namespace core;

namespace {

constexpr Instant kStart = 1'790'877'600'000;  // 2026-10-01 18:00 UTC

std::mt19937_64 code_random;

void seeded_bytes(std::span<std::uint8_t> out) {
  for (auto& byte : out) byte = static_cast<std::uint8_t>(code_random() & 0xff);
}

std::uint64_t number_from(const std::string& text) {
  const Hash hash = sha256(as_bytes(text));
  std::uint64_t number = 0;
  for (int i = 0; i < 8; ++i) number = (number << 8) | hash[static_cast<std::size_t>(i)];
  return number;
}

EventRow row_of(Book& book, const EventRef& ref) {
  book.refresh();
  return book.log().find(ref);
}

Thing thing_of(Book& book, const std::string& code) {
  auto query = book.database().prepare("SELECT coalesce(joined, id) FROM code WHERE text = ?");
  return query.bind(code).step() ? query.integer(0) : 0;
}

}  // namespace

Code World::code(CodeKind kind, const std::string& name) {
  code_random.seed(number_from(name));
  return Code::generate(kind, seeded_bytes);
}

KeyPair World::key(const std::string& name) {
  SecretKey secret = sha256(as_bytes("key of " + name));
  secret[0] = 0;  // below the group's order
  return KeyPair::from_secret(secret);
}

World::World(Zone zone) : now(kStart), zone_(std::move(zone)) {
  Book::Founding founding{.keeper = "",
                          .zone = zone_,
                          .root = key("root"),
                          .device = key("hub"),
                          .keeper_code = code(CodeKind::helper, "keeper")};
  Book book = Book::create(":memory:", founding, {now, 1, now});
  devices_["hub"] = std::make_unique<Device>(std::move(book), "hub");
}

Device& World::device(const std::string& name, Role role) {
  if (const auto known = devices_.find(name); known != devices_.end()) return *known->second;
  const KeyPair own = key(name);
  record(
      hub(), Kind::admitted, {},
      {.own = Value::Object{{"device", to_hex(device_id_of(own.public_key()))}, {"role", std::string(word_of(role))}}});
  Book book = Book::create_member(":memory:", hub().book().collection(), own, code(CodeKind::helper, name).str(),
                                  {now, 1, now});
  auto made = std::make_unique<Device>(std::move(book), name);
  Device& device = *made;
  devices_[name] = std::move(made);
  hub().book().prepare_sync(hub().clock(now));
  carry(hub().book(), device.book());
  return device;
}

void World::at(int days, int hour, int minute) {
  now = zone_.first_instant_of(zone_.day_of(kStart) + days, hour * 60 + minute);
}

EventRef World::record(Device& who, Kind kind, const std::vector<std::string>& of, Entry entry) {
  Draft draft{.kind = kind,
              .of = of,
              .place = entry.place,
              .shown = entry.shown,
              .said = entry.said,
              .re = entry.re,
              .own = entry.own};
  const EventRef ref = who.book().record_one(draft, who.clock(now));
  return ref;
}

EventRef World::settles(Device& who, const std::string& rule, const std::vector<EventRef>& members,
                        const std::string& answer) {
  Entry entry{.own = Value::Object{{"rule", rule}, {"answer", answer}}};
  for (const EventRef& member : members) entry.re.push_back({member, Relation::saw});
  return record(who, Kind::settled, {}, entry);
}

void World::carry(Book& from, Book& to) {
  std::vector<Segment> all;
  const auto take = [&](Segment&& segment) {
    all.push_back(std::move(segment));
    return true;
  };
  PeerVector peer{.heads = to.heads()};
  const auto unclear = from.missing_for(peer, take);
  if (!unclear.empty()) {
    PeerVector again;
    for (const DeviceId& device : unclear) {
      const auto rungs = to.ladder(device);
      again.heads.insert(again.heads.end(), rungs.begin(), rungs.end());
    }
    again.laddered = unclear;
    for (const Head& head : peer.heads) {
      if (std::find(unclear.begin(), unclear.end(), head.device) == unclear.end()) again.heads.push_back(head);
    }
    all.clear();
    from.missing_for(again, take);
  }
  to.merge(all);
}

void World::sync(Device& a, Device& b) {
  a.book().prepare_sync(a.clock(now));
  b.book().prepare_sync(b.clock(now));
  const auto newest = [](Device& device) {
    EventRef best;
    for (const Head& head : device.book().heads()) {
      if (head.device == device.book().device() && head.seq > best.seq)
        best = {head.device, head.seq, shorten(head.hash)};
    }
    return best;
  };
  b.book().check_clock(newest(a), b.clock_error_ms - a.clock_error_ms, b.clock(now));
  a.book().check_clock(newest(b), a.clock_error_ms - b.clock_error_ms, a.clock(now));
  carry(a.book(), b.book());
  carry(b.book(), a.book());
}

void World::sync_all() {
  for (int round = 0; round < 2; ++round) {
    for (auto& [name, device] : devices_) {
      if (name != "hub") sync(*device, hub());
    }
  }
}

std::vector<Segment> World::segments(const std::vector<Device*>& devices) {
  std::map<std::pair<DeviceId, Hash>, Segment> all;
  for (Device* device : devices) {
    LogStore& log = device->book().log();
    device->book().refresh();
    for (const auto& [id, branch] : log.branches()) {
      const DeviceId name = log.device_name(branch.device);
      for (std::uint32_t seq = branch.base_seq + 1; seq <= branch.head_seq; ++seq) {
        const EventRow row = make_row(id, seq);
        const Hash hash = log.hash_of(row);
        Segment segment{.device = name, .after = seq - 1};
        segment.previous = seq == 1 ? sha256({ByteSpan(device->book().collection()), ByteSpan(name)})
                                    : log.hash_of(log.row_on_line(id, seq - 1));
        segment.events = {log.bytes_of(row)};
        segment.sealed = {log.sealed_of(row)};
        for (const auto& [owner, pointer] : devices_) {
          if (pointer->book().device() == name) {
            segment.signature = key(owner).sign(as_bytes(head_message(device->book().collection(), name, seq, hash)));
          }
        }
        if (name == device_id_of(key("root").public_key())) {
          segment.signature = key("root").sign(as_bytes(head_message(device->book().collection(), name, seq, hash)));
        }
        all.emplace(std::make_pair(name, hash), std::move(segment));
      }
    }
  }
  std::vector<Segment> out;
  for (auto& [id, segment] : all) out.push_back(std::move(segment));
  std::stable_sort(out.begin(), out.end(), [](const Segment& a, const Segment& b) {
    return std::tie(a.device, a.after) < std::tie(b.device, b.after);
  });
  return out;
}

std::unique_ptr<Book> World::arrival(const std::vector<Segment>& order) {
  auto book = std::make_unique<Book>(
      Book::create_member(":memory:", hub().book().collection(), key("observer"), "", {kStart, 9, kStart}));
  book->merge(order);
  return book;
}

namespace {

using Delivered = std::set<std::pair<DeviceId, Hash>>;

Hash hash_of(const Segment& segment) {
  return sha256({ByteSpan(segment.previous), as_bytes(segment.events.front())});
}

/// Those whose predecessor on their line is in.
std::vector<std::size_t> ready(const std::vector<Segment>& waiting, const Delivered& in) {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < waiting.size(); ++i) {
    if (waiting[i].after == 0 || in.contains({waiting[i].device, waiting[i].previous})) out.push_back(i);
  }
  return out;
}

}  // namespace

/// A random linear extension of the lines, with duplicates, in batches of random size.
std::unique_ptr<Book> World::random_arrival(const std::vector<Segment>& all, std::mt19937& random) {
  std::unique_ptr<Book> book = arrival({});
  std::vector<Segment> waiting = all;
  std::vector<Segment> batch;
  std::vector<Segment> delivered;
  Delivered in;
  while (!waiting.empty()) {
    const auto choice = ready(waiting, in);
    const std::size_t pick = choice[random() % choice.size()];
    Segment next = waiting[pick];
    waiting.erase(waiting.begin() + static_cast<std::ptrdiff_t>(pick));
    in.insert({next.device, hash_of(next)});
    batch.push_back(next);
    delivered.push_back(next);
    if (random() % 4 == 0) batch.push_back(delivered[random() % delivered.size()]);
    if (random() % 3 == 0) {
      book->merge(batch);
      batch.clear();
    }
  }
  book->merge(batch);
  return book;
}

std::string World::arrivals_differ(const std::vector<Device*>& devices, int trials, unsigned seed) {
  const std::vector<Segment> all = segments(devices);
  const Digest expected = arrival(all)->digest();
  std::mt19937 random(seed);
  std::ostringstream out;
  for (int trial = 0; trial < trials; ++trial) {
    const std::unique_ptr<Book> book = random_arrival(all, random);
    if (book->digest().log != expected.log) out << "arrival " << trial << ": another log\n";
    if (book->digest().state != expected.state) out << "arrival " << trial << ": another state\n";
    for (const std::string& problem : book->check().problems) out << "arrival " << trial << ": " << problem << "\n";
  }
  return out.str();
}

std::unique_ptr<Book> World::check_arrivals(const std::vector<Device*>& devices, int trials, unsigned seed) {
  CHECK(arrivals_differ(devices, trials, seed) == "");
  return arrival(segments(devices));
}

/// Delivers every order of the last `free` events of all lines that respects the lines; the rest comes first.
std::unique_ptr<Book> World::check_every_order(const std::vector<Device*>& devices, Instant since) {
  const std::vector<Segment> all = segments(devices);
  std::vector<Segment> base;
  std::vector<Segment> free;
  for (const Segment& segment : all) {
    (decode_event(segment.events.front()).event->clock.run_ms < since ? base : free).push_back(segment);
  }
  const Digest expected = arrival(all)->digest();
  Delivered in;
  for (const Segment& segment : base) in.insert({segment.device, hash_of(segment)});
  std::size_t orders = 0;
  std::vector<Segment> order;
  const std::function<void(const std::vector<Segment>&)> deliver = [&](const std::vector<Segment>& waiting) {
    REQUIRE(orders < 3000);  // a history for this is a small one
    if (waiting.empty()) {
      ++orders;
      std::unique_ptr<Book> book = arrival(base);
      for (const Segment& segment : order) book->merge({segment});
      CHECK(book->digest() == expected);
    }
    for (std::size_t i : ready(waiting, in)) {
      std::vector<Segment> rest = waiting;
      rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(i));
      order.push_back(waiting[i]);
      in.insert({waiting[i].device, hash_of(waiting[i])});
      deliver(rest);
      in.erase({waiting[i].device, hash_of(waiting[i])});
      order.pop_back();
    }
  };
  deliver(free);
  CHECK(orders > 0);
  return arrival(all);
}

std::vector<Seen> matters(Book& book, RuleId rule, const std::string& code) {
  std::vector<Seen> out;
  auto query = book.database().prepare(
      "SELECT outcome, amount, asks, members, detail, answers FROM matter WHERE rule = ? AND subject = ? ORDER BY at, "
      "lead");
  query.bind(static_cast<int>(rule), code.empty() ? Thing{0} : thing_of(book, code));
  while (query.step()) {
    Seen seen{
        std::string(query.text(0)), query.integer(1), query.integer(2) != 0, {}, parse_strict(query.text(4)).value, {}};
    std::istringstream rows{std::string(query.text(3))};
    for (EventRow row = 0; rows >> row;) seen.members.push_back(book.log().ref_of(row));
    std::istringstream answers{std::string(query.text(5))};
    for (std::string answer; std::getline(answers, answer);) seen.answers.push_back(answer);
    out.push_back(std::move(seen));
  }
  return out;
}

std::size_t open_questions(Book& book) {
  auto query = book.database().prepare("SELECT count(*) FROM matter WHERE asks = 1");
  query.step();
  return static_cast<std::size_t>(query.integer(0));
}

std::set<std::string> subjects(Book& book, const EventRef& ref) {
  std::set<std::string> out;
  auto query = book.database().prepare(
      "SELECT code.text FROM account JOIN code ON code.id = account.subject WHERE account.event = ?");
  query.bind(row_of(book, ref));
  while (query.step()) out.emplace(query.text(0));
  return out;
}

Account account(Book& book, const EventRef& ref) {
  const EventRow row = row_of(book, ref);
  auto query = book.database().prepare("SELECT at, mark FROM event WHERE id = ?");
  REQUIRE(query.bind(row).step());
  const std::int64_t mark = query.integer(1);
  return {.ref = ref,
          .row = row,
          .kind = static_cast<Kind>(mark >> kMarkKindShift),
          .observed = query.integer(0),
          .sure = (mark & kSure) != 0,
          .said = (mark & kSaid) != 0,
          .event = book.log().event_of(row)};
}

bool is_read(Book& book, const EventRef& ref) {
  auto query = book.database().prepare("SELECT mark FROM event WHERE id = ?");
  REQUIRE(query.bind(row_of(book, ref)).step());
  return (query.integer(0) & kRead) != 0;
}

bool is_void(Book& book, const EventRef& ref) {
  auto query = book.database().prepare("SELECT mark FROM event WHERE id = ?");
  REQUIRE(query.bind(row_of(book, ref)).step());
  return (query.integer(0) & kGone) != 0;
}

std::string whereabouts(Book& book, const std::string& animal, Instant at) {
  auto query = book.database().prepare(
      "SELECT code.text FROM stay JOIN code ON code.id = stay.place WHERE animal = ? AND since <= ? AND (until IS NULL "
      "OR until > ?) "
      "ORDER BY role DESC");
  return query.bind(thing_of(book, animal), at, at).step() ? std::string(query.text(0)) : std::string();
}

std::string field(Book& book, const std::string& code, const std::string& name) {
  auto query = book.database().prepare("SELECT value FROM field WHERE subject = ? AND name = ?");
  return query.bind(thing_of(book, code), name).step() ? std::string(query.text(0)) : std::string();
}

}  // namespace rackside::tests
