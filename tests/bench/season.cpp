#include "tests/bench/season.h"

#include <algorithm>
#include <array>
#include <filesystem>
#include <random>

#include "core/crypto/sha256.h"
#include "core/log/event.h"
#include "sync/protocol/stream.h"
#include "tests/bench/writer.h"

namespace rackside::bench {
namespace {

using namespace core;

constexpr Instant kFirstDay = 1'790'812'800'000;  // 2026-10-01 00:00 UTC
constexpr unsigned kPlacesInRack = 40;
constexpr unsigned kEventsOfDay = 500;
/// How many days of the feeding plan lie between two meals of one animal.
constexpr int kDaysBetweenMeals = 6;

std::mt19937_64 random_of_codes;

void seeded_bytes(std::span<std::uint8_t> out) {
  for (auto& byte : out) byte = static_cast<std::uint8_t>(random_of_codes() & 0xff);
}

std::string new_code(CodeKind kind) {
  return Code::generate(kind, seeded_bytes).str();
}

Value::Object object(std::initializer_list<Value::Member> members) {
  return Value::Object(members);
}

Value meal(const char* prey, int count) {
  return Value::Object{{"items", Value::Array{object({{"prey", prey}, {"count", count}, {"state", "thawed"}})}}};
}

struct Animal {
  std::string code;
  std::size_t place = 0;  ///< where it lives
  EventRef home;          ///< the move that led it there
  int fed_on = -kDaysBetweenMeals;
  std::optional<EventRef> offer;  ///< open
  std::optional<EventRef> meal;   ///< of the night at hand
  std::optional<EventRef> stuck;  ///< a stuck shed that nobody has cleared
  std::optional<EventRef> visit;  ///< the pairing as whose visitor it is away
  std::size_t host = 0;
  std::optional<EventRef> guest;  ///< the pairing as whose host it has a visitor
  std::size_t visitor = 0;
  int grams = 0;
};

class SeasonWriter {
 public:
  SeasonWriter(const SeasonPlan& plan, const std::string& path) : plan_(plan), path_(path), random_(plan.seed) {
    random_of_codes.seed(plan.seed);
  }

  Season run() {
    found();
    register_all();
    for (unsigned day = 0; day < plan_.days; ++day) live_through(static_cast<int>(day));
    Season season = assemble();
    for (unsigned more = 0; more < plan_.more_days; ++more) live_one_more(season, plan_.days + more);
    return season;
  }

 private:
  // ---- chance

  unsigned below(std::size_t n) { return static_cast<unsigned>(random_() % n); }
  bool chance(unsigned percent) { return below(100) < percent; }

  // ---- the beginning

  DeviceWriter& add_device(const std::string& name, Instant time) {
    devices_.emplace_back(collection_, key_named(name), path_ + "." + name);
    DeviceWriter& device = devices_.back();
    device.run_began = time - kMinute;
    device.run = random_();
    return device;
  }

  void admit(DeviceWriter& by, const DeviceWriter& device, const char* role, Instant time) {
    Event event{.kind = Kind::admitted, .own = object({{"device", to_hex(device.id())}, {"role", role}})};
    if (role == std::string_view("keeper")) event.own.set("clock", true);
    by.write(event, time);
  }

  void greet(DeviceWriter& device, Instant time) {
    device.write({.kind = Kind::clock_marked, .own = object({{"key", to_hex(device.key().public_key())}})}, time);
  }

  /// As Book::create does it.
  void found() {
    const KeyPair root_key = key_named("root");
    const std::array<std::uint8_t, 16> salt{};
    collection_ = collection_of();
    Instant time = kFirstDay - 30 * kDay;
    devices_.reserve(plan_.devices + 1);
    DeviceWriter& root = add_device("root", time);
    DeviceWriter& hub = add_device("hub", time);
    root.write({.kind = Kind::founded, .own = object({{"key", to_hex(root_key.public_key())}, {"salt", to_hex(salt)}})},
               time);
    admit(root, hub, "keeper", time);
    greet(hub, time);
    hub.write({.kind = Kind::set,
               .own = object({{"key", "zone"}, {"value", Value::Array{object({{"from", 0}, {"minutes", 60}})}}})},
              time);
    for (unsigned i = 0; i < plan_.devices; ++i) helpers_.push_back(new_code(CodeKind::helper));
    for (const std::string& helper : helpers_) {
      hub.write({.kind = Kind::helper,
                 .of = {helper},
                 .by = helpers_[0],
                 .own = object({{"set", object({{"role", "helper"}})}})},
                time += 1000);
    }
    for (unsigned i = 1; i < plan_.devices; ++i) {
      DeviceWriter& device = add_device("phone" + std::to_string(i), time);
      device.clock_error_ms = static_cast<std::int64_t>(i) * 47'000 - 90'000;
      admit(hub, device, "helper", time);
      greet(device, time);
    }
  }

  DeviceWriter& hub() { return devices_[1]; }

  void enter(Kind kind, const std::string& code, Value::Object set, Instant time) {
    hub().write({.kind = kind, .of = {code}, .by = helpers_[0], .own = object({{"set", std::move(set)}})}, time);
  }

  /// Racks, places, animals, and each animal into a place. One place in twenty stays free.
  void register_all() {
    Instant time = kFirstDay - 20 * kDay;
    const std::size_t places = plan_.animals + plan_.animals / 20 + 1;
    std::string rack;
    for (std::size_t i = 0; i < places; ++i) {
      const std::string letter = "R" + std::to_string(i / kPlacesInRack);
      if (i % kPlacesInRack == 0)
        enter(Kind::rack, rack = new_code(CodeKind::rack), object({{"short", letter}}), time += 2000);
      const int position = static_cast<int>(i % kPlacesInRack) + 1;
      places_.push_back(new_code(CodeKind::place));
      enter(Kind::place, places_.back(),
            object({{"short", letter + "-" + std::to_string(position)}, {"rack", rack}, {"position", position}}),
            time += 200);
    }
    for (std::size_t i = 0; i < plan_.animals; ++i) {
      Animal animal{.code = new_code(CodeKind::animal), .place = i, .grams = 300 + static_cast<int>(below(900))};
      // Spread over the plan, so that every evening has its share.
      animal.fed_on = -1 - static_cast<int>(below(kDaysBetweenMeals));
      enter(Kind::animal, animal.code,
            object({{"short", "C-" + std::to_string(i + 1)},
                    {"species", "corn snake"},
                    {"sex", is_male(i) ? "male" : "female"},
                    {"hatched", "2024-07-" + std::to_string(10 + i % 20)},
                    {"prey", "small-rat"}}),
            time += 1000);
      animal.home =
          hub().write({.kind = Kind::moved, .of = {animal.code}, .place = places_[i], .by = helpers_[0]}, time += 500);
      animals_.push_back(std::move(animal));
    }
    for (std::size_t i = plan_.animals; i < places; ++i) free_places_.push_back(i);
  }

  /// One male for two females.
  static bool is_male(std::size_t animal) { return animal % 3 == 0; }

  // ---- a day

  /// Every device writes its share of what it still owes, in its own racks of the day; then the hub checks the clocks.
  void live_through(int day) {
    const unsigned left = plan_.days - static_cast<unsigned>(day);
    for (std::size_t d = devices_.size(); d-- > 1;) {
      const unsigned checks = d == 1 ? left * (plan_.devices - 1) : 0;
      const unsigned owed = plan_.events_per_device - std::min(plan_.events_per_device, devices_[d].count() + checks);
      if (day % 3 == 0) restart(devices_[d], day);
      spend_evening(devices_[d], d, day, owed / left);
    }
    check_clocks(day);
  }

  void check_clocks(int day) {
    const Instant late = kFirstDay + day * kDay + 22 * kHour;
    for (std::size_t d = 2; d < devices_.size(); ++d) {
      hub().write({.kind = Kind::clock_checked,
                   .re = {{devices_[d].last(), Relation::saw}},
                   .own = object({{"offset", -devices_[d].clock_error_ms}})},
                  late + static_cast<Instant>(d) * kMinute);
    }
  }

  /// 500 events of all helpers' devices, a tenth of them told days later.
  void live_one_more(Season& season, unsigned day) {
    const std::string path = path_ + "." + std::to_string(day);
    for (DeviceWriter& device : devices_) device.go_on_in(path + "." + to_hex(device.id()));
    tells_late_ = true;
    for (std::size_t d = devices_.size(); d-- > 1;)
      spend_evening(devices_[d], d, static_cast<int>(day), kEventsOfDay / (static_cast<unsigned>(devices_.size()) - 1));
    tells_late_ = false;
    check_clocks(static_cast<int>(day));
    season.more_days.push_back(path);
    write_stream(path);
  }

  void restart(DeviceWriter& device, int day) {
    device.run = random_();
    device.run_began = kFirstDay + day * kDay + 17 * kHour;
  }

  void spend_evening(DeviceWriter& device, std::size_t index, int day, unsigned events) {
    const Instant begin = kFirstDay + day * kDay + 18 * kHour;
    const std::size_t first = (index - 1 + static_cast<std::size_t>(day / 3)) % plan_.devices;
    std::size_t at = below(animals_.size());
    const std::uint32_t until = device.count() + events;
    while (device.count() < until) {
      // On to the next animal of today's racks; now and then to any other.
      at = (at + 1) % animals_.size();
      while (animals_[at].place / kPlacesInRack % plan_.devices != first) at = (at + 1) % animals_.size();
      const std::size_t who = chance(1) ? below(animals_.size()) : at;
      const std::uint32_t done = events - (until - device.count());
      visit(device, index, who, day, begin + Instant{done} * (3 * kHour) / events + below(5000));
    }
  }

  void visit(DeviceWriter& device, std::size_t index, std::size_t who, int day, Instant time) {
    device_ = &device;
    time_ = time;
    by_ = helpers_[chance(85) ? index - 1 : below(helpers_.size())];
    Animal& animal = animals_[who];
    if (animal.offer) return find_out(animal, day);
    if (animal.visit && chance(30)) return separate(animal);
    if (day - animal.fed_on >= kDaysBetweenMeals) return feed(animal, day);
    look_after(animal, who, day);
  }

  // ---- entries

  /// An entry by a scan of the place, or of the animal's own card when it is away or shares the tub.
  EventRef see(const Animal& animal, Kind kind, Value own = {}, std::vector<Answer> re = {}) {
    Event event{.kind = kind, .by = by_, .re = std::move(re), .own = std::move(own)};
    if (tells_late_ && chance(10)) event.said = SaidTime{.minutes_ago = static_cast<int>(1440 * (1 + below(60)))};
    if (chance(65) && !animal.visit && !animal.guest) {
      event.place = places_[animal.place];
      event.shown = {animal.code};
    } else {
      event.of = {animal.code};
    }
    return device_->write(std::move(event), time_);
  }

  void feed(Animal& animal, int day) {
    const unsigned what = below(100);
    if (what < 20) {
      animal.offer = see(animal, Kind::offered, meal("small-rat", 1));
    } else if (what < 32) {
      see(animal, Kind::refused, meal("small-rat", 1));
      animal.fed_on = day - 3;  // tried again in three days
    } else {
      animal.meal = see(animal, Kind::fed, meal("small-rat", 1));
      animal.fed_on = day;
    }
  }

  /// What was offered is looked after at the next visit: it ate, or left it.
  void find_out(Animal& animal, int day) {
    see(animal, chance(75) ? Kind::ate : Kind::leftover, {}, {{*animal.offer, Relation::saw}});
    animal.fed_on = day;
    animal.offer.reset();
  }

  void look_after(Animal& animal, std::size_t who, int day) {
    const unsigned what = below(1000);
    if (what < 20 && animal.meal && animal.fed_on == day) {
      animal.meal = see(animal, Kind::fed, meal("mouse", 1), {{*animal.meal, Relation::again}});
    } else if (what < 330) {
      see(animal, Kind::cleaned);
    } else if (what < 520) {
      see(animal, Kind::watered);
    } else if (what < 660) {
      animal.grams += static_cast<int>(below(20)) - 5;
      see(animal, Kind::weighed, object({{"grams_tenths", animal.grams * 10}}));
    } else if (what < 760) {
      shed(animal);
    } else if (what < 830) {
      see(animal, Kind::opaque);
    } else if (what < 860) {
      note(animal);
    } else if (what < 920) {
      move(animal);
    } else if (what < 985) {
      breed(animal, who, what < 975);
    } else {
      see(animal, Kind::treated, object({{"with", "mite spray"}, {"repeat_days", 7}}));
    }
  }

  void breed(Animal& animal, std::size_t who, bool pairs) {
    if (pairs && is_male(who)) return pair(animal, who);
    if (pairs || is_male(who)) return void(see(animal, Kind::watered));
    see(animal, Kind::laid, object({{"good", 5 + static_cast<int>(below(12))}, {"slugs", static_cast<int>(below(3))}}));
  }

  void shed(Animal& animal) {
    if (animal.stuck) {
      see(animal, Kind::cleared, {}, {{*animal.stuck, Relation::saw}});
      return animal.stuck.reset();
    }
    if (chance(90)) {
      see(animal, Kind::shed);
    } else {
      animal.stuck = see(animal, Kind::shed, object({{"stuck", "tail"}}));
    }
  }

  void note(const Animal& animal) {
    SealedPart part{.text = R"({"note":"a little restless tonight, looked again after the round"})"};
    seeded_bytes(part.salt);
    device_->write({.kind = Kind::noted, .of = {animal.code}, .by = by_}, time_, part);
  }

  void move(Animal& animal) {
    if (animal.visit || animal.guest) return;
    std::size_t& free = free_places_[below(free_places_.size())];
    std::swap(free, animal.place);
    animal.home = device_->write({.kind = Kind::moved,
                                  .of = {animal.code},
                                  .place = places_[animal.place],
                                  .by = by_,
                                  .re = {{animal.home, Relation::saw}}},
                                 time_);
  }

  /// A male visits one of the next females.
  void pair(Animal& animal, std::size_t who) {
    std::size_t other = (who + 1 + below(20)) % animals_.size();
    while (is_male(other)) other = (other + 1) % animals_.size();
    Animal& host = animals_[other];
    const bool engaged = animal.visit || animal.guest || host.visit || host.guest;
    if (engaged) return;
    animal.visit = host.guest = device_->write({.kind = Kind::paired,
                                                .of = {animal.code, host.code},
                                                .place = places_[host.place],
                                                .by = by_,
                                                .re = {{animal.home, Relation::saw}, {host.home, Relation::saw}}},
                                               time_);
    animal.host = other;
    host.visitor = who;
  }

  void separate(Animal& animal) {
    device_->write({.kind = Kind::separated, .of = {animal.code}, .by = by_, .re = {{*animal.visit, Relation::saw}}},
                   time_);
    animals_[animal.host].guest.reset();
    animal.visit.reset();
  }

  // ---- the end

  Season assemble() {
    write_stream(path_);
    Season season{.collection = collection_, .path = path_};
    for (const DeviceWriter& device : devices_) {
      season.events += device.count();
      season.bytes += device.bytes();
    }
    return season;
  }

  /// One stream of what the devices have written into their files, which go; as a book sends it: all lines abreast, by
  /// time, the clock's a day ahead.
  void write_stream(const std::string& path) {
    std::ofstream out(path, std::ios::binary | std::ios::trunc);
    out << sync::stream_head(collection_);
    struct Piece {
      Instant time = 0;
      std::size_t device = 0;
      std::size_t bytes = 0;
    };
    std::vector<Piece> pieces;
    std::vector<std::ifstream> files;
    for (std::size_t d = 0; d < devices_.size(); ++d) {
      devices_[d].finish();
      files.emplace_back(devices_[d].path(), std::ios::binary);
      const Instant lead = &devices_[d] == &hub() ? kDay : 0;
      for (const auto& [begins, bytes] : devices_[d].segments()) pieces.push_back({begins - lead, d, bytes});
    }
    std::stable_sort(pieces.begin(), pieces.end(), [](const Piece& a, const Piece& b) { return a.time < b.time; });
    std::string lines;
    for (const Piece& piece : pieces) {
      lines.resize(piece.bytes);
      files[piece.device].read(lines.data(), static_cast<std::streamsize>(lines.size()));
      out << lines;
    }
    for (const DeviceWriter& device : devices_) std::filesystem::remove(device.path());
    out << sync::stream_end(pieces.size());
    out.close();
    if (!out)
      throw Error(Fault::disk_full, "The made-up events could not be written to " + path + ": is the disk full?");
  }

  SeasonPlan plan_;
  std::string path_;
  std::mt19937_64 random_;
  CollectionId collection_{};
  std::vector<DeviceWriter> devices_;  ///< the root, the hub, the helpers'
  std::vector<std::string> helpers_;
  std::vector<std::string> places_;
  std::vector<std::size_t> free_places_;
  std::vector<Animal> animals_;
  DeviceWriter* device_ = nullptr;  ///< who writes at the moment, when, for whom
  Instant time_ = 0;
  std::string by_;
  bool tells_late_ = false;
};

}  // namespace

CollectionId collection_of() {
  const std::array<std::uint8_t, 16> salt{};
  const Hash id = sha256({ByteSpan(key_named("root").public_key()), ByteSpan(salt)});
  CollectionId collection{};
  std::copy_n(id.begin(), collection.size(), collection.begin());
  return collection;
}

Season write_season(const SeasonPlan& plan, const std::string& path) {
  return SeasonWriter(plan, path).run();
}

}  // namespace rackside::bench
