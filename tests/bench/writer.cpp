#include "tests/bench/writer.h"

#include "core/crypto/sha256.h"
#include "sync/protocol/stream.h"

namespace rackside::bench {

using namespace core;

KeyPair key_named(const std::string& name) {
  SecretKey secret = sha256(as_bytes("key of " + name));
  secret[0] = 0;  // below the group's order
  return KeyPair::from_secret(secret);
}

DeviceWriter::DeviceWriter(const CollectionId& collection, KeyPair key, const std::string& path)
    : collection_(collection),
      key_(std::move(key)),
      id_(device_id_of(key_.public_key())),
      hash_(sha256({ByteSpan(collection_), ByteSpan(id_)})),
      path_(path),
      out_(path, std::ios::binary | std::ios::trunc) {}

EventRef DeviceWriter::write(Event event, Instant time, const std::optional<SealedPart>& part) {
  if (segment_.events.empty()) {
    segment_ = Segment{.device = id_, .after = seq_, .previous = hash_};
    segment_begins_ = time;
  }
  event.kind_name = std::string(word_of(event.kind));
  event.clock = {time + clock_error_ms, run, time - run_began};
  if (part) event.seal = seal_digest(*part);
  std::string bytes = encode_event(event);
  hash_ = sha256({ByteSpan(hash_), as_bytes(bytes)});
  bytes_ += bytes.size();
  last_ = {id_, ++seq_, shorten(hash_)};
  segment_.events.push_back(std::move(bytes));
  segment_.sealed.push_back(part);
  if (seq_ % kSegmentEvents == 0) end_segment();
  return last_;
}

void DeviceWriter::end_segment() {
  segment_.signature = key_.sign(as_bytes(head_message(collection_, id_, seq_, hash_)));
  std::string lines;
  sync::append_segment(lines, segment_);
  out_ << lines;
  segments_.push_back({segment_begins_, lines.size()});
  segment_ = {};
}

void DeviceWriter::finish() {
  if (!out_.is_open()) return;
  if (!segment_.events.empty()) end_segment();
  out_.close();
  if (!out_)
    throw Error(Fault::disk_full, "The made-up events could not be written to " + path_ + ": is the disk full?");
}

void DeviceWriter::go_on_in(const std::string& path) {
  finish();
  path_ = path;
  out_.open(path_, std::ios::binary | std::ios::trunc);
  segments_.clear();
}

}  // namespace rackside::bench
