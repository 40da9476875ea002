// What two books tell each other, and how the other's events are taken in.
#include <algorithm>
#include <set>

#include "core/book/book.h"
#include "core/crypto/sha256.h"

namespace rackside::core {
namespace {

std::string name_of(const DeviceId& device) {
  return to_hex(device);
}

bool contains(const std::vector<DeviceId>& all, const DeviceId& one) {
  return std::find(all.begin(), all.end(), one) != all.end();
}

}  // namespace

std::vector<Head> Book::heads() {
  refresh();
  std::vector<Head> out;
  for (const auto& [id, branch] : log_->branches()) {
    // What is not signed yet cannot be sent, so it is no head for others.
    const std::uint32_t seq = log_->last_signed(id, branch.head_seq);
    if (seq == 0) continue;
    const bool whole = seq == branch.head_seq;
    out.push_back({log_->device_name(branch.device), seq, whole ? branch.head_hash : log_->hash_of(make_row(id, seq))});
  }
  std::sort(out.begin(), out.end());
  return out;
}

std::vector<Head> Book::ladder(const DeviceId& device) {
  std::vector<Head> out;
  const auto row = log_->find_device(device);
  if (!row) return out;
  for (const Branch* branch : log_->branches_of(*row)) {
    std::uint32_t seq = log_->last_signed(branch->id, branch->head_seq);
    for (std::uint32_t step = 1; seq >= 1; step *= 2) {
      out.push_back({device, seq, log_->hash_of(log_->row_on_line(branch->id, seq))});
      if (seq == 1) break;
      seq = seq > step ? seq - step : 1;
    }
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

namespace {

/// What of one line a peer lacks, (after, to], cut into segments that end at signatures.
class LineSender {
 public:
  /// `lead` lets the line go ahead of others by so much of its time.
  LineSender(LogStore& log, const CollectionId& collection, std::int64_t branch, std::uint32_t after, std::uint32_t to,
             Instant lead)
      : log_(log),
        database_(log.database()),
        collection_(collection),
        branch_(branch),
        after_(after),
        to_(to),
        lead_(lead) {
    find_next_time();
  }

  bool done() const { return after_ >= to_; }
  /// When the next event was seen, less the line's lead.
  Instant next_time() const { return next_time_; }

  /// The next segment. Empty: what is left is an unsigned tail, which is not ours to send; then the line is done.
  Segment next() {
    Segment segment = cut(after_, to_);
    after_ = segment.events.empty() ? to_ : after_ + static_cast<std::uint32_t>(segment.events.size());
    if (!done()) find_next_time();
    return segment;
  }

 private:
  void find_next_time() { next_time_ = log_.time_of(log_.row_on_line(branch_, after_ + 1)) - lead_; }

  Segment cut(std::uint32_t after, std::uint32_t to) {
    Segment segment{.device = log_.device_name(log_.branch(branch_).device), .after = after};
    segment.previous = after == 0 ? sha256({ByteSpan(collection_), ByteSpan(segment.device)})
                                  : log_.hash_of(log_.row_on_line(branch_, after));
    std::size_t bytes = 0;
    std::size_t whole = 0;  // events up to the last signature seen
    for (const auto& [first, last] : pieces(after, to)) {
      // One query for all of them: four for each event took most of the time of a first sync at the hub.
      auto query = database_.prepare(
          "SELECT event.bytes, signature.bytes, salt, text, id FROM event LEFT JOIN signature ON signature.event = id "
          "LEFT JOIN sealed ON sealed.event = id WHERE id BETWEEN ? AND ? ORDER BY id");
      query.bind(first, last);
      EventRow expected = first;
      while (query.step()) {
        if (query.integer(4) != expected) break;
        ++expected;
        const bool full = segment.events.size() >= kSegmentEvents || bytes >= kSegmentBytes;
        if (full && whole > 0) return cut_to(std::move(segment), whole);
        segment.events.emplace_back(query.text(0));
        segment.sealed.emplace_back();
        if (!query.null(2)) segment.sealed.back() = SealedPart{query.bytes<16>(2), std::string(query.text(3))};
        bytes += segment.events.back().size() + (segment.sealed.back() ? segment.sealed.back()->text.size() : 0);
        if (query.null(1)) continue;
        segment.signature = query.bytes<64>(1);
        whole = segment.events.size();
      }
      if (expected <= last) log_.bytes_of(expected);  // is missing, which this says
    }
    return cut_to(std::move(segment), whole);
  }

  static Segment cut_to(Segment&& segment, std::size_t whole) {
    segment.events.resize(whole);
    segment.sealed.resize(whole);
    return std::move(segment);
  }

  /// The rows of (after, to] on this line, branch by branch from its beginning.
  std::vector<std::pair<EventRow, EventRow>> pieces(std::uint32_t after, std::uint32_t to) const {
    std::vector<std::pair<EventRow, EventRow>> out;
    for (const Branch* branch = &log_.branch(branch_); to > after;) {
      const std::uint32_t begin = branch->parent ? std::max(after, branch->base_seq) : after;
      if (to > begin) out.emplace_back(make_row(branch->id, begin + 1), make_row(branch->id, to));
      if (!branch->parent) break;
      to = std::min(to, begin);
      branch = &log_.branch(*branch->parent);
    }
    std::reverse(out.begin(), out.end());
    return out;
  }

  LogStore& log_;
  Database& database_;
  const CollectionId& collection_;
  std::int64_t branch_;
  std::uint32_t after_;
  std::uint32_t to_;
  Instant lead_;
  Instant next_time_ = 0;
};

/// The line whose next event is the earliest; none when all are done.
LineSender* earliest_of(std::vector<LineSender>& lines) {
  LineSender* first = nullptr;
  for (LineSender& line : lines) {
    if (!line.done() && (!first || line.next_time() < first->next_time())) first = &line;
  }
  return first;
}

/// All lines abreast, by time: whatever comes late makes the receiver look at an animal's life again.
void send_abreast(std::vector<LineSender>& lines, const std::function<bool(Segment&&)>& take) {
  while (LineSender* line = earliest_of(lines)) {
    Segment segment = line->next();
    if (!segment.events.empty() && !take(std::move(segment))) return;
  }
}

/// A clock's checks lie behind what they put right: they go ahead, so that most times are judged once.
constexpr Instant kLeadOfClocks = kDay;

}  // namespace

std::vector<DeviceId> Book::missing_for(const PeerVector& peer, const std::function<bool(Segment&&)>& take) {
  refresh();
  std::map<DeviceId, std::vector<Head>> points;
  for (const Head& head : peer.heads) points[head.device].push_back(head);
  std::vector<DeviceId> unclear;
  std::set<std::int64_t> clocks;
  auto query = database_->prepare("SELECT device FROM standing WHERE clock = 1 OR role = 4");
  while (query.step()) clocks.insert(query.integer(0));
  std::vector<LineSender> lines;
  for (const auto& [id, branch] : log_->branches()) {
    const DeviceId device = log_->device_name(branch.device);
    const std::uint32_t to = log_->last_signed(id, branch.head_seq);
    if (to == 0) continue;
    std::optional<std::uint32_t> after;
    for (const Head& point : points[device]) {
      const EventRow row = log_->find({device, point.seq, shorten(point.hash)});
      if (row != 0 && log_->on_line(row, make_row(id, to))) after = std::max(after.value_or(0), point.seq);
      // The peer is ahead of this line: it has it all.
      if (row != 0 && log_->on_line(make_row(id, to), row)) after = to;
    }
    if (!after && !points[device].empty() && !contains(peer.laddered, device)) {
      if (!contains(unclear, device)) unclear.push_back(device);
      continue;
    }
    if (after.value_or(0) >= to) continue;
    const Instant lead = clocks.contains(branch.device) ? kLeadOfClocks : 0;
    lines.emplace_back(*log_, collection_, id, after.value_or(0), to, lead);
  }
  send_abreast(lines, take);
  return unclear;
}

void Book::verify(const Segment& segment, const Hash& head) {
  const auto key = log_->key_of(segment.device);
  if (!key)
    throw Error(Fault::broken_chain, "Events of device " + name_of(segment.device) +
                                         " came before the one that carries its key. Sync again; nothing was stored.");
  const std::uint32_t seq = segment.after + static_cast<std::uint32_t>(segment.events.size());
  const std::string message = head_message(collection_, segment.device, seq, head);
  if (!Verifier(*key).verify(as_bytes(message), segment.signature)) {
    throw Error(Fault::bad_signature,
                "The signature of device " + name_of(segment.device) + " under its event " + std::to_string(seq) +
                    " is wrong: these events are not its own, or were changed on the way. Nothing was stored.");
  }
}

namespace {

/// A text that this book lacks may come later, but only the one that the event's own digest names.
void keep_true_text(LogStore& log, EventRow held, const std::optional<SealedPart>& part) {
  if (!part || log.sealed_of(held)) return;
  if (log.event_of(held)->seal == seal_digest(*part)) log.keep_sealed(held, *part);
}

}  // namespace

void Book::store_segment(const Segment& segment, MergeResult& result) {
  const std::int64_t device = log_->device_row(segment.device);
  std::int64_t branch = 0;
  if (segment.after == 0) {
    if (segment.previous != chain_start(segment.device)) {
      throw Error(Fault::other_collection,
                  "Device " + name_of(segment.device) + " writes for another collection. Nothing was stored.");
    }
  } else {
    const EventRow before = log_->find({segment.device, segment.after, shorten(segment.previous)});
    if (before == 0) {
      throw Error(Fault::broken_chain, "Events of device " + name_of(segment.device) + " from " +
                                           std::to_string(segment.after + 1) +
                                           " on do not follow what this book holds. Sync again; nothing was stored.");
    }
    branch = branch_of(before);
  }
  Hash hash = segment.previous;
  std::uint32_t seq = segment.after;
  for (std::size_t i = 0; i < segment.events.size(); ++i) {
    const std::string& bytes = segment.events[i];
    hash = sha256({ByteSpan(hash), as_bytes(bytes)});
    ++seq;
    if (const EventRow held = log_->find({segment.device, seq, shorten(hash)})) {
      branch = branch_of(held);
      ++result.known;
      keep_true_text(*log_, held, segment.sealed[i]);
      continue;
    }
    DecodedEvent decoded = decode_event(bytes);
    if (!decoded.event) {
      throw Error(Fault::bad_event, "Event " + std::to_string(seq) + " of device " + name_of(segment.device) +
                                        " is not well-formed (" + std::string(word_of(decoded.problem)) +
                                        "): its line ends before it. Nothing was stored.");
    }
    if (seq == 1) {
      const auto key = array_from_hex<65>(decoded.event->own.text("key"));
      if (!key || device_id_of(*key) != segment.device) {
        throw Error(Fault::bad_signature, "The first event of device " + name_of(segment.device) +
                                              " does not carry its key. Nothing was stored.");
      }
      log_->set_key(device, *key);
    }
    if (branch == 0 || log_->branch(branch).head_seq != seq - 1) {
      const bool fork = branch != 0 || !log_->branches_of(device).empty();
      if (fork && !contains(result.forked, segment.device)) result.forked.push_back(segment.device);
      const Hash base = i == 0 ? segment.previous : log_->hash_of(log_->row_on_line(branch, seq - 1));
      branch = log_->new_branch(device, branch == 0 ? std::nullopt : std::optional(branch), seq - 1, base);
    }
    const auto event = std::make_shared<const Event>(std::move(*decoded.event));
    const EventRow row = log_->append(branch, bytes, hash, event);
    if (const auto& part = segment.sealed[i]; part && event->seal == seal_digest(*part)) log_->keep_sealed(row, *part);
    ++result.stored;
    if (segment.device == device_) ++result.own;
  }
  verify(segment, hash);
  log_->sign(log_->find({segment.device, seq, shorten(hash)}), segment.signature);
}

MergeResult Book::merge(const std::vector<Segment>& segments) {
  MergeResult result;
  if (segments.empty()) return result;
  for (const Segment& segment : segments) {
    if (segment.events.empty() || segment.sealed.size() != segment.events.size()) {
      throw Error(Fault::protocol, "The peer sent an empty run of events. Nothing was stored.");
    }
  }
  write([&] {
    for (const Segment& segment : segments) store_segment(segment, result);
    if (result.stored > 0) result.fold = Refold(*log_).run();
    if (result.own > 0) set_own_value("double", "yes");
    last_fold_ = result.fold;
  });
  return result;
}

}  // namespace rackside::core
