#include "sync/protocol/responder.h"

namespace rackside::sync {

using core::Book;
using core::Segment;

namespace {

core::PeerVector points_of(const VectorMessage& asked) {
  return {asked.heads, asked.devices};
}

/// Sends in pieces of this size: small enough for a live stream, large enough for few writes.
constexpr std::size_t kPiece = 64 * 1024;

}  // namespace

VectorMessage describe(Book& book, const std::string& name, const core::ClockReading& now) {
  VectorMessage message{.collection = book.collection(), .device = book.device(), .name = name, .clock = now};
  message.heads = book.heads();
  for (const core::Head& head : message.heads) {
    if (head.device != book.device() || (message.newest && message.newest->seq >= head.seq)) continue;
    message.newest = core::EventRef{head.device, head.seq, core::shorten(head.hash)};
  }
  return message;
}

void Responder::require_same_collection(const VectorMessage& asked) const {
  if (asked.collection == book_.collection()) return;
  refuse_other_collection(asked.collection, asked.name.empty() ? "The asking book" : asked.name, book_.collection(),
                          name_);
}

VectorMessage Responder::heads(const VectorMessage& asked) {
  require_same_collection(asked);
  const core::ClockReading now = clock_();
  book_.prepare_sync(now);
  if (asked.newest) book_.check_clock(*asked.newest, now.wall_ms - asked.clock.wall_ms, now);
  return describe(book_, name_, clock_());
}

VectorMessage Responder::ladders(const VectorMessage& asked) {
  require_same_collection(asked);
  VectorMessage answer{.collection = book_.collection(), .device = book_.device(), .name = name_, .clock = clock_()};
  for (const core::DeviceId& device : asked.devices) {
    const auto rungs = book_.ladder(device);
    answer.heads.insert(answer.heads.end(), rungs.begin(), rungs.end());
    answer.devices.push_back(device);
  }
  return answer;
}

void Responder::pull(const VectorMessage& asked, const Sink& sink) {
  require_same_collection(asked);
  std::string piece = stream_head(book_.collection());
  std::size_t segments = 0;
  bool taken = true;
  const auto unclear = book_.missing_for(points_of(asked), [&](Segment&& segment) {
    append_segment(piece, segment);
    ++segments;
    if (piece.size() < kPiece) return true;
    taken = sink(piece);
    piece.clear();
    return taken;
  });
  if (taken) sink(piece + stream_end(segments, unclear));
}

Receipt Responder::push(std::string_view body) {
  Receipt receipt;
  StreamReader reader(book_.collection(), [&](std::vector<Segment>&& batch) {
    const core::MergeResult result = book_.merge(batch);
    receipt.stored += result.stored;
    receipt.known += result.known;
    receipt.forked.insert(receipt.forked.end(), result.forked.begin(), result.forked.end());
  });
  each_line(body, [&](std::string_view line) { reader.line(line); });
  reader.finish();
  // What came shows that this book was restored or copied: it goes on as another device, at once.
  if (book_.has_double()) book_.succeed(clock_());
  return receipt;
}

void LocalPeer::pull(const VectorMessage& mine, StreamReader& reader) {
  responder_.pull(mine, [&](std::string_view piece) {
    each_line(piece, [&](std::string_view line) { reader.line(line); });
    return true;
  });
}

}  // namespace rackside::sync
