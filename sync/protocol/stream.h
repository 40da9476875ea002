#pragma once

#include <vector>

#include "sync/protocol/lines.h"

namespace rackside::sync {

// A stream of events: what a pull answers, what a push and a bundle hold. Source: sync/PROTOCOL.md, section 2.

constexpr std::size_t kBatchBytes = 1024 * 1024;  ///< of a push
constexpr std::size_t kBatchEvents = 4096;
/// What a reader of a longer stream merges at once: pages that a batch touches are written once a batch.
constexpr std::size_t kMergedBytes = 2 * kBatchBytes;
constexpr std::size_t kMergedEvents = 7 * kBatchEvents / 4;
/// A run of events between two signatures, as a reader must hold it before it can store a part of it. Authors sign
/// every 256 events and every 256 KiB.
constexpr std::size_t kMostSegmentEvents = 2 * core::kSegmentEvents;
constexpr std::size_t kMostSegmentBytes = 1024 * 1024;

std::string stream_head(const core::CollectionId& collection);
/// Appends the segment's lines.
void append_segment(std::string& out, const core::Segment& segment);
/// The last lines: devices for which the asker's points did not suffice, and the count of segments.
std::string stream_end(std::size_t segments, const std::vector<core::DeviceId>& unclear = {});

/// Cuts what a book sends into bodies of at most kBatchBytes and kBatchEvents, each a whole stream.
class BatchWriter {
 public:
  /// `send` gets a body and the number of its events; false ends the exchange.
  using Send = std::function<bool(const std::string& body, std::size_t events)>;
  BatchWriter(const core::CollectionId& collection, Send send);
  bool add(const core::Segment& segment);
  /// Sends what is left.
  bool flush();

 private:
  std::string head_;
  Send send_;
  std::string body_;
  std::string segment_text_;
  std::size_t segments_ = 0;
  std::size_t events_ = 0;
};

/// Reads a stream line by line and hands over whole segments in batches, so that memory stays flat.
class StreamReader {
 public:
  using Take = std::function<void(std::vector<core::Segment>&&)>;
  /// Errors of the reading calls: other_collection, protocol, too_large, what `take` throws, and the Error that an
  /// error line states. What was handed over before stays with the taker; keep_whole() adds the batch at hand.
  StreamReader(const core::CollectionId& collection, Take take) : collection_(collection), take_(std::move(take)) {}

  void line(std::string_view line);
  bool done() const { return state_ == State::ended; }
  /// Errors: protocol when the end has not come.
  void finish() const;
  /// After a break: hands over the segments that came whole. Each is signed, so what came after it does not matter; and
  /// over a wire that always breaks early, something gets through each time.
  void keep_whole() { hand_over(); }

  const std::vector<core::DeviceId>& unclear() const { return unclear_; }
  std::size_t events() const { return events_; }

 private:
  void begin(std::string_view line);
  void event(std::string_view line);
  void other(std::string_view line);
  void begin_segment(const core::Value& value);
  void seal(const core::Value& value);
  void sign(const core::Value& value);
  void end(const core::Value& value);
  void hand_over();

  enum class State { before, between, inside, ended } state_ = State::before;
  core::CollectionId collection_;
  Take take_;
  core::Segment segment_;
  std::size_t segment_bytes_ = 0;
  std::vector<core::Segment> batch_;
  std::size_t batch_bytes_ = 0;
  std::size_t batch_events_ = 0;
  std::size_t segments_ = 0;
  std::size_t events_ = 0;
  std::vector<core::DeviceId> unclear_;
};

}  // namespace rackside::sync
