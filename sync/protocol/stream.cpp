#include "sync/protocol/stream.h"

namespace rackside::sync {

using core::Error;
using core::Fault;
using core::Segment;
using core::Value;

namespace {

constexpr std::string_view kEventBeginning = "{\"v\":1,";
constexpr std::size_t kMostUnclear = 100'000;

}  // namespace

std::string stream_head(const core::CollectionId& collection) {
  return to_line(Value::Object{{"rackside", kProtocolVersion}, {"collection", core::to_hex(collection)}});
}

void append_segment(std::string& out, const Segment& segment) {
  out += to_line(Value::Object{{"device", core::to_hex(segment.device)},
                               {"after", std::int64_t{segment.after}},
                               {"previous", core::to_hex(segment.previous)}});
  for (std::size_t i = 0; i < segment.events.size(); ++i) {
    out += segment.events[i];
    out += '\n';
    if (const auto& part = segment.sealed[i]) {
      out += to_line(Value::Object{{"salt", core::to_hex(part->salt)}, {"text", part->text}});
    }
  }
  out += to_line(Value::Object{{"sign", core::to_hex(segment.signature)}});
}

std::string stream_end(std::size_t segments, const std::vector<core::DeviceId>& unclear) {
  std::string out;
  for (const core::DeviceId& device : unclear) out += to_line(Value::Object{{"unclear", core::to_hex(device)}});
  return out + to_line(Value::Object{{"end", static_cast<std::int64_t>(segments)}});
}

// ---- writing

BatchWriter::BatchWriter(const core::CollectionId& collection, Send send)
    : head_(stream_head(collection)), send_(std::move(send)), body_(head_) {}

bool BatchWriter::add(const Segment& segment) {
  segment_text_.clear();
  append_segment(segment_text_, segment);
  constexpr std::size_t kEndLine = 64;
  const bool full =
      body_.size() + segment_text_.size() + kEndLine > kBatchBytes || events_ + segment.events.size() > kBatchEvents;
  if (segments_ > 0 && full && !flush()) return false;
  body_ += segment_text_;
  ++segments_;
  events_ += segment.events.size();
  return true;
}

bool BatchWriter::flush() {
  if (segments_ == 0) return true;
  body_ += stream_end(segments_);
  const bool go_on = send_(body_, events_);
  body_ = head_;
  segments_ = 0;
  events_ = 0;
  return go_on;
}

// ---- reading

void StreamReader::line(std::string_view line) {
  if (line.size() > kMostLine) parse_line(line);  // throws
  if (state_ == State::ended) bad_message("lines follow the end");
  if (state_ == State::before) return begin(line);
  if (state_ == State::inside && line.starts_with(kEventBeginning)) return event(line);
  other(line);
}

void StreamReader::begin(std::string_view line) {
  const Value value = parse_line(line);
  throw_if_error(value);
  require_version(value);
  const auto collection = hex_member<16>(value, "collection");
  if (collection != collection_) refuse_other_collection(collection_, "This book", collection, "what came");
  state_ = State::between;
}

void StreamReader::event(std::string_view line) {
  segment_bytes_ += line.size();
  if (segment_.events.size() >= kMostSegmentEvents || segment_bytes_ > kMostSegmentBytes) {
    throw Error(Fault::too_large, "Device " + core::to_hex(segment_.device) +
                                      " sent too many events without a signature. What was stored before stays.");
  }
  segment_.events.emplace_back(line);
  segment_.sealed.emplace_back();
}

void StreamReader::other(std::string_view line) {
  const Value value = parse_line(line);
  if (state_ == State::inside) {
    if (value.find("salt") != nullptr) return seal(value);
    if (value.find("sign") != nullptr) return sign(value);
  } else {
    if (value.find("device") != nullptr) return begin_segment(value);
    if (value.find("unclear") != nullptr && unclear_.size() < kMostUnclear) {
      return unclear_.push_back(hex_member<8>(value, "unclear"));
    }
    if (value.find("end") != nullptr) return end(value);
  }
  throw_if_error(value);
  bad_message("a line of the stream is out of place");
}

void StreamReader::begin_segment(const Value& value) {
  segment_ = Segment{.device = hex_member<8>(value, "device"), .after = sequence_member(value, "after")};
  segment_.previous = hex_member<32>(value, "previous");
  segment_bytes_ = 0;
  state_ = State::inside;
}

void StreamReader::seal(const Value& value) {
  if (segment_.sealed.empty() || segment_.sealed.back()) bad_message("a sealed part follows no event");
  const std::string* text = value.find("text") == nullptr ? nullptr : value.find("text")->as_string();
  if (text == nullptr) bad_message("a sealed part has no text");
  segment_bytes_ += text->size();
  segment_.sealed.back() = core::SealedPart{hex_member<16>(value, "salt"), *text};
}

void StreamReader::sign(const Value& value) {
  if (segment_.events.empty()) bad_message("a signature follows no event");
  segment_.signature = hex_member<64>(value, "sign");
  const bool full =
      batch_events_ + segment_.events.size() > kMergedEvents || batch_bytes_ + segment_bytes_ > kMergedBytes;
  if (full) hand_over();
  batch_events_ += segment_.events.size();
  batch_bytes_ += segment_bytes_;
  batch_.push_back(std::move(segment_));
  segment_ = {};
  ++segments_;
  state_ = State::between;
}

void StreamReader::hand_over() {
  if (batch_.empty()) return;
  std::vector<Segment> batch = std::move(batch_);
  batch_ = {};
  const std::size_t events = batch_events_;
  batch_events_ = 0;
  batch_bytes_ = 0;
  take_(std::move(batch));
  events_ += events;
}

void StreamReader::end(const Value& value) {
  if (value.number("end", -1) != static_cast<std::int64_t>(segments_)) bad_message("segments are missing");
  hand_over();
  state_ = State::ended;
}

void StreamReader::finish() const {
  if (state_ != State::ended) cut_off();
}

}  // namespace rackside::sync
