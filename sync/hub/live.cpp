#include "sync/hub/live.h"

#include <algorithm>
#include <chrono>

#include "sync/hub/newest.h"
#include "sync/protocol/lines.h"

namespace rackside::sync::hub {

using core::Book;
using core::Value;
using namespace std::chrono_literals;

namespace {

constexpr auto kLook = 150ms;
/// While a hundred phones send, their receipts come first: what is new is told once it is quiet for one look, or after
/// so many of them.
constexpr int kMostHeld = 3;
/// A line feed in between shows that the hub is there, and shows the hub when the phone is gone.
constexpr auto kBeat = 10s;
constexpr auto kWaitsAtMost = 500ms;
constexpr std::size_t kRecent = 4096;
/// A laptop that brings a whole day is no news for the aisle; the phones' next copy tells it.
constexpr std::uint32_t kMostTold = 64;
constexpr std::int64_t kClaimHoldsMs = 4 * 60 * 60 * 1000;

std::int64_t data_version(Book& book) {
  auto query = book.database().prepare("PRAGMA data_version");
  return query.step() ? query.integer(0) : 0;
}

Value strings(const std::vector<std::string>& all) {
  Value::Array out;
  for (const std::string& one : all) out.push_back(one);
  return out;
}

std::string mark_line(const core::Event& event, const core::EventRef& ref) {
  Value mark = Value::Object{{"ref", to_text(ref)}, {"kind", event.kind_name}};
  if (!event.of.empty()) mark.set("of", strings(event.of));
  if (!event.place.empty()) mark.set("place", event.place);
  if (!event.shown.empty()) mark.set("shown", strings(event.shown));
  if (!event.by.empty()) mark.set("by", event.by);
  mark.set("wall", event.clock.wall_ms);
  Value::Array answered;
  for (const core::Answer& one : event.re) answered.push_back(to_text(one.event));
  if (!answered.empty()) mark.set("re", std::move(answered));
  return to_line(Value::Object{{"mark", std::move(mark)}});
}

Value claim_value(const Live::Claim& claim) {
  return Value::Object{{"rack", claim.rack}, {"by", claim.by}, {"device", claim.device}, {"at", claim.at_ms}};
}

}  // namespace

Live::Live(std::function<std::shared_ptr<Book>()> open) : open_(std::move(open)) {
  watcher_ = std::thread([this] { watch(); });
}

Live::~Live() {
  {
    const std::lock_guard lock(mutex_);
    ending_ = true;
  }
  changed_.notify_all();
  watcher_.join();
}

void Live::watch() {
  std::unique_lock lock(mutex_);
  while (!ending_) {
    changed_.wait(lock, [this] { return ending_ || !listeners_.empty(); });
    if (ending_) return;
    lock.unlock();
    try {
      const auto book = open_();
      told_.clear();
      look(*book);
      std::int64_t told = data_version(*book);
      std::int64_t before = told;
      int held = 0;
      for (bool listening = true; listening;) {
        std::this_thread::sleep_for(kLook);
        const std::int64_t now = data_version(*book);
        if (now != told && (now == before || ++held >= kMostHeld)) {
          look(*book);
          told = now;
          held = 0;
        }
        before = now;
        const std::lock_guard inner(mutex_);
        listening = !listeners_.empty() && !ending_;
      }
    } catch (const std::exception&) {
      // A book that cannot be read now is said by whoever needs it; the marks go on when it can.
      std::this_thread::sleep_for(kWaitsAtMost);
    }
    lock.lock();
  }
}

void Live::look(Book& book) {
  const bool first = told_.empty();
  std::vector<std::string> lines;
  for (const core::Head& head : newest_of_all(book)) {
    std::uint32_t& told = told_[head.device];
    if (!first && head.seq > told) tell_of(book, head, told, lines);
    told = std::max(told, head.seq);
  }
  if (!lines.empty()) publish(std::move(lines));
}

void Live::tell_of(Book& book, const core::Head& head, std::uint32_t after, std::vector<std::string>& lines) {
  const core::EventRow newest = book.log().find({head.device, head.seq, core::shorten(head.hash)});
  if (newest == 0) return;
  const std::uint32_t from = head.seq - std::min(head.seq - after, kMostTold);
  for (std::uint32_t seq = from + 1; seq <= head.seq; ++seq) {
    const core::EventRow row = newest - (head.seq - seq);
    const auto event = book.log().event_of(row);
    if (core::info_of(event->kind).kind_class == core::KindClass::administration) continue;
    lines.push_back(mark_line(*event, book.log().ref_of(row)));
  }
}

void Live::publish(std::vector<std::string> lines) {
  {
    const std::lock_guard lock(mutex_);
    for (std::string& line : lines) {
      recent_.push_back(std::move(line));
      ++last_;
      if (recent_.size() > kRecent) recent_.pop_front();
    }
  }
  changed_.notify_all();
}

void Live::claim(const Claim& claim) {
  {
    const std::lock_guard lock(mutex_);
    claims_[claim.rack] = claim;
  }
  publish({to_line(Value::Object{{"claim", claim_value(claim)}})});
}

void Live::free(const std::string& rack) {
  {
    const std::lock_guard lock(mutex_);
    if (claims_.erase(rack) == 0) return;
  }
  publish({to_line(Value::Object{{"freed", rack}})});
}

std::vector<Live::Claim> Live::claims(std::int64_t now_ms) {
  const std::lock_guard lock(mutex_);
  std::erase_if(claims_, [&](const auto& one) { return now_ms - one.second.at_ms > kClaimHoldsMs; });
  std::vector<Claim> out;
  for (const auto& [rack, claim] : claims_) out.push_back(claim);
  return out;
}

std::set<std::string> Live::listening() {
  const std::lock_guard lock(mutex_);
  return {listeners_.begin(), listeners_.end()};
}

http::Producer Live::stream(const std::string& device) {
  /// Counts itself for as long as the connection's thread keeps the producer.
  struct Listener {
    Listener(Live& owner, const std::string& device) : live(owner) {
      {
        const std::lock_guard lock(live.mutex_);
        me = live.listeners_.insert(device);
        read = live.last_;
      }
      live.changed_.notify_all();
    }
    ~Listener() {
      const std::lock_guard lock(live.mutex_);
      live.listeners_.erase(me);
    }
    Live& live;
    std::multiset<std::string>::iterator me;
    std::uint64_t read = 0;
    bool greeted = false;
    std::chrono::steady_clock::time_point beat = std::chrono::steady_clock::now();
  };
  const auto listener = std::make_shared<Listener>(*this, device);
  return [this, listener](const http::Sink& sink) {
    std::string out;
    if (!listener->greeted) {
      listener->greeted = true;
      const std::int64_t now =
          std::chrono::duration_cast<std::chrono::milliseconds>(std::chrono::system_clock::now().time_since_epoch())
              .count();
      Value::Array held;
      for (const Claim& claim : claims(now)) held.push_back(claim_value(claim));
      return sink(to_line(Value::Object{{"rackside", kProtocolVersion}, {"live", 1}, {"claims", std::move(held)}}));
    }
    std::unique_lock lock(mutex_);
    changed_.wait_for(lock, kWaitsAtMost, [&] { return ending_ || last_ > listener->read; });
    if (ending_) return false;
    const std::uint64_t oldest = last_ - recent_.size();
    for (std::uint64_t at = std::max(listener->read, oldest); at < last_; ++at) out += recent_[at - oldest];
    listener->read = last_;
    lock.unlock();
    const auto now = std::chrono::steady_clock::now();
    if (out.empty() && now - listener->beat >= kBeat) out = "\n";
    if (!out.empty()) listener->beat = now;
    return out.empty() || sink(out);
  };
}

}  // namespace rackside::sync::hub
