#include "sync/protocol/exchange.h"

#include <algorithm>
#include <map>

#include "core/crypto/sha256.h"
#include "sync/protocol/responder.h"

namespace rackside::sync {

using core::Book;
using core::DeviceId;
using core::Head;
using core::Segment;

namespace {

bool contains(const std::vector<DeviceId>& all, const DeviceId& one) {
  return std::find(all.begin(), all.end(), one) != all.end();
}

void add_once(std::vector<DeviceId>& all, const DeviceId& one) {
  if (!contains(all, one)) all.push_back(one);
}

Head end_of(const Segment& segment) {
  core::Hash hash = segment.previous;
  for (const std::string& bytes : segment.events) hash = core::sha256({core::ByteSpan(hash), core::as_bytes(bytes)});
  return {segment.device, segment.after + static_cast<std::uint32_t>(segment.events.size()), hash};
}

class Exchange {
 public:
  Exchange(Book& mine, std::string my_name, Peer& peer, const ClockSource& clock, const OnProgress& on_progress)
      : mine_(mine), my_name_(std::move(my_name)), peer_(peer), clock_(clock), on_progress_(on_progress) {}

  SyncResult run(Ways ways) {
    end_double();
    greet();
    if (lacks_something()) pull();
    end_double();
    if (ways == Ways::both) push();
    return std::move(result_);
  }

 private:
  /// Two copies of one book wrote under one name: this one goes on under another, and that travels in this exchange.
  void end_double() {
    if (!mine_.has_double()) return;
    mine_.succeed(clock_());
    result_.succeeded = mine_.device();
  }

  template <typename Call>
  auto counted(const Call& call) {
    ++result_.round_trips;
    return call();
  }

  void greet() {
    mine_.prepare_sync(clock_());
    VectorMessage asked = describe(mine_, my_name_, clock_());
    asked.device = mine_.known_as();
    VectorMessage answer = counted([&] { return peer_.heads(asked); });
    result_.peer = answer.name;
    result_.peer_device = answer.device;
    if (answer.collection != mine_.collection()) {
      refuse_other_collection(mine_.collection(), my_name_, answer.collection, answer.name);
    }
    const core::ClockReading now = clock_();
    if (answer.newest) mine_.check_clock(*answer.newest, now.wall_ms - answer.clock.wall_ms, now);
    theirs_ = std::move(answer.heads);
  }

  bool lacks_something() {
    mine_.refresh();
    return std::any_of(theirs_.begin(), theirs_.end(), [&](const Head& head) {
      return mine_.log().find({head.device, head.seq, core::shorten(head.hash)}) == 0;
    });
  }

  // ---- what the other has

  void pull() {
    VectorMessage asked = describe(mine_, my_name_, clock_());
    const std::vector<DeviceId> unclear = pull_once(asked);
    if (unclear.empty()) return;
    // Heads alone did not tell where our lines and theirs part: name points all the way down.
    asked = describe(mine_, my_name_, clock_());
    std::erase_if(asked.heads, [&](const Head& head) { return contains(unclear, head.device); });
    for (const DeviceId& device : unclear) {
      const auto rungs = mine_.ladder(device);
      asked.heads.insert(asked.heads.end(), rungs.begin(), rungs.end());
    }
    asked.devices = unclear;
    if (!pull_once(asked).empty()) bad_message("it does not understand ladders");
  }

  std::vector<DeviceId> pull_once(const VectorMessage& asked) {
    StreamReader reader(mine_.collection(), [&](std::vector<Segment>&& batch) { store(batch); });
    try {
      counted([&] { peer_.pull(asked, reader); });
      reader.finish();
    } catch (const core::Error& error) {
      reader.keep_whole();
      throw_with_kept(error, result_.received);
    }
    return reader.unclear();
  }

  void store(const std::vector<Segment>& batch) {
    const core::MergeResult merged = mine_.merge(batch);
    result_.received += merged.stored;
    result_.repeated += merged.known;
    for (const DeviceId& device : merged.forked) add_once(result_.forked, device);
    for (const Segment& segment : batch) {
      if (merged.stored > 0) add_once(result_.received_from, segment.device);
      theirs_.push_back(end_of(segment));  // so that it is not sent back
    }
    report();
  }

  // ---- what it lacks

  void push() {
    const std::vector<DeviceId> unclear = push_once({theirs_, {}});
    if (unclear.empty()) return;
    VectorMessage asked{
        .collection = mine_.collection(), .device = mine_.device(), .name = my_name_, .clock = clock_()};
    asked.devices = unclear;
    const VectorMessage ladders = counted([&] { return peer_.ladders(asked); });
    // The other devices are through: the peer has what we have of them.
    core::PeerVector points{mine_.heads(), unclear};
    std::erase_if(points.heads, [&](const Head& head) { return contains(unclear, head.device); });
    points.heads.insert(points.heads.end(), ladders.heads.begin(), ladders.heads.end());
    if (!push_once(points).empty()) bad_message("its ladders lead nowhere");
  }

  std::vector<DeviceId> push_once(const core::PeerVector& points) {
    BatchWriter writer(mine_.collection(), [&](const std::string& body, std::size_t) {
      const Receipt receipt = counted([&] { return peer_.push(body); });
      result_.sent += receipt.stored;
      result_.repeated += receipt.known;
      for (const DeviceId& device : receipt.forked) add_once(result_.forked, device);
      report();
      return true;
    });
    const auto unclear = mine_.missing_for(points, [&](Segment&& segment) { return writer.add(segment); });
    writer.flush();
    return unclear;
  }

  void report() const {
    if (on_progress_) on_progress_({result_.received, result_.sent});
  }

  Book& mine_;
  const std::string my_name_;
  Peer& peer_;
  const ClockSource& clock_;
  const OnProgress& on_progress_;
  std::vector<Head> theirs_;
  SyncResult result_;
};

}  // namespace

SyncResult exchange(Book& mine, const std::string& my_name, Peer& peer, const ClockSource& clock, Ways ways,
                    const OnProgress& on_progress) {
  return Exchange(mine, my_name, peer, clock, on_progress).run(ways);
}

}  // namespace rackside::sync
