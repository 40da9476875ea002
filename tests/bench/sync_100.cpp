#include <barrier>
#include <cstdio>
#include <ctime>
#include <filesystem>
#include <mutex>
#include <random>
#include <stdexcept>
#include <thread>

#include "core/crypto/sha256.h"
#include "sync/hub/http_peer.h"
#include "tests/bench/benchmarks.h"
#include "tests/bench/loopback.h"
#include "tests/bench/program.h"
#include "tests/bench/writer.h"

namespace rackside::bench {

using namespace core;

namespace {

constexpr std::size_t kDevices = 100;
constexpr std::size_t kRounds = 30;
constexpr std::size_t kEventsOfRound = 20;
constexpr std::size_t kAnimals = 10'000;

/// A device that holds its own events only: a phone with an outbox.
class Outbox {
 public:
  Outbox(const CollectionId& collection, const std::string& name)
      : collection_(collection), key_(key_named(name)), id_(device_id_of(key_.public_key())) {
    hash_ = sha256({ByteSpan(collection_), ByteSpan(id_)});
    const Value::Object greeting{{"key", to_hex(key_.public_key())}};
    waiting_.push_back({.kind = Kind::clock_marked, .own = greeting});
  }
  const DeviceId& id() const { return id_; }

  void see(Kind kind, const std::string& animal) { waiting_.push_back({.kind = kind, .of = {animal}}); }

  /// Chains and signs what waits.
  void seal() {
    segment_ = Segment{.device = id_, .after = seq_, .previous = hash_};
    for (Event& event : waiting_) {
      const ClockReading now = wall_clock()();
      event.kind_name = std::string(word_of(event.kind));
      event.clock = {now.wall_ms, now.run, now.run_ms};
      segment_.events.push_back(encode_event(event));
      segment_.sealed.emplace_back();
      hash_ = sha256({ByteSpan(hash_), as_bytes(segment_.events.back())});
      ++seq_;
    }
    waiting_.clear();
    segment_.signature = key_.sign(as_bytes(head_message(collection_, id_, seq_, hash_)));
  }

  /// Heads, then what is new, over a connection of its own; returns when it is acknowledged.
  void sync(const LoopbackHub& hub) {
    sync::hub::HttpPeer peer(hub.client(to_hex(id_)));
    sync::VectorMessage mine{.collection = collection_, .device = id_, .name = "phone", .clock = wall_clock()()};
    mine.newest = EventRef{id_, seq_, shorten(hash_)};
    mine.heads = {{id_, seq_, hash_}};
    peer.heads(mine);
    std::string body = sync::stream_head(collection_);
    sync::append_segment(body, segment_);
    const std::size_t events = segment_.events.size();
    if (peer.push(body + sync::stream_end(1)).stored != events)
      throw std::runtime_error("sync-100: not every event was stored");
  }

 private:
  CollectionId collection_;
  KeyPair key_;
  DeviceId id_;
  Hash hash_{};
  std::uint32_t seq_ = 0;
  std::vector<Event> waiting_;
  Segment segment_;
};

Value::Object object(std::initializer_list<Value::Member> members) {
  return Value::Object(members);
}

struct Yard {
  CollectionId collection;
  std::vector<std::string> animals;
  std::vector<Outbox> devices;
};

/// A hub's book with animals, to which all devices are admitted.
Yard make_yard(const std::string& path) {
  Book::Founding founding{.keeper = "Robin",
                          .zone = {{{0, 60}}},
                          .root = key_named("root"),
                          .device = key_named("hub"),
                          .keeper_code = Code::generate(CodeKind::helper, fill_random)};
  const ClockReading now = wall_clock()();
  Book book = Book::create(path, founding, now);
  Yard yard{.collection = book.collection()};
  std::vector<Draft> drafts;
  for (std::size_t i = 0; i < kAnimals; ++i) {
    yard.animals.push_back(Code::generate(CodeKind::animal, fill_random).str());
    drafts.push_back(
        {.kind = Kind::animal,
         .of = {yard.animals.back()},
         .own = object({{"set", object({{"short", "C-" + std::to_string(i)}, {"species", "corn snake"}})}})});
  }
  for (std::size_t i = 0; i < kDevices; ++i) {
    yard.devices.emplace_back(yard.collection, "phone " + std::to_string(i));
    drafts.push_back(
        {.kind = Kind::admitted, .own = object({{"device", to_hex(yard.devices.back().id())}, {"role", "helper"}})});
  }
  book.record(std::move(drafts), now);
  book.tidy();
  return yard;
}

double percentile(std::vector<double> values, double share) {
  std::sort(values.begin(), values.end());
  return values[std::min(values.size() - 1, static_cast<std::size_t>(share * static_cast<double>(values.size())))];
}

}  // namespace

/// From the moment at which all devices begin to each one's receipt: TCP, TLS, heads, push, fold, disk. The first
/// round, in which every device shows its key and its clock is checked, counts like the others. In place of a floor
/// stands one fsync on the same disk.
std::vector<Row> sync_100(Stage& stage) {
  const std::string path = stage.fresh("yard.book");
  Yard yard = make_yard(path);
  const LoopbackHub hub(path);
  std::vector<double> times;
  std::vector<std::string> errors;
  std::mutex mutex;
  std::mt19937_64 random(6);
  double processor = 0;
  for (std::size_t round = 0; round < kRounds; ++round) {
    for (Outbox& device : yard.devices) {
      for (std::size_t i = 0; i < kEventsOfRound; ++i) {
        const bool meal = i % 6 == 0;  // each animal has about one in all rounds, which are of one night
        device.see(meal ? Kind::fed : i % 2 == 0 ? Kind::cleaned : Kind::watered, yard.animals[random() % kAnimals]);
      }
      device.seal();
    }
    const std::clock_t before = std::clock();
    std::barrier begin(static_cast<std::ptrdiff_t>(kDevices));
    std::vector<std::thread> threads;
    for (Outbox& device : yard.devices) {
      threads.emplace_back([&] {
        begin.arrive_and_wait();
        std::string error;
        const double time = milliseconds_of([&] {
          try {
            device.sync(hub);
          } catch (const std::exception& fault) {
            error = fault.what();
          }
        });
        const std::lock_guard lock(mutex);
        times.push_back(time);
        if (!error.empty()) errors.push_back(error);
      });
    }
    for (std::thread& thread : threads) thread.join();
    processor += 1000.0 * static_cast<double>(std::clock() - before) / CLOCKS_PER_SEC;
    const std::vector<double> last(times.end() - static_cast<std::ptrdiff_t>(kDevices), times.end());
    std::fprintf(stderr, "sync-100, round %zu: median %.0f ms, slowest %.0f ms\n", round + 1, median(last),
                 percentile(last, 1));
  }
  if (!errors.empty())
    throw std::runtime_error("sync-100: " + std::to_string(errors.size()) + " syncs failed, one of them: " + errors[0]);
  const double fsync = fsync_milliseconds(std::filesystem::path(path).parent_path().string());
  return {{"sync-100", percentile(times, 0.99), fsync, "ms"},
          {"sync-100-median", median(times), fsync, "ms"},
          // Of the hub and all devices, which share this machine here: on two idle cores a round takes half of it.
          {"sync-100-cpu", processor / static_cast<double>(kRounds), fsync, "ms a round"}};
}

}  // namespace rackside::bench
