#include "sync/protocol/vector.h"

namespace rackside::sync {

using core::Value;

namespace {

/// 1500 devices with ladders of 32 points are 48 000.
constexpr std::size_t kMostHeads = 250'000;

Value first_line(const VectorMessage& message) {
  Value line = Value::Object{{"rackside", kProtocolVersion},
                             {"collection", core::to_hex(message.collection)},
                             {"device", core::to_hex(message.device)},
                             {"name", core::mend_text(message.name)},
                             {"wall", message.clock.wall_ms}};
  if (message.newest) {
    core::Head head{message.newest->device, message.newest->seq, {}};
    std::copy(message.newest->hash.begin(), message.newest->hash.end(), head.hash.begin());
    line.set("newest", head_value(head));
  }
  return line;
}

}  // namespace

std::string to_text(const VectorMessage& message) {
  std::string out = to_line(first_line(message));
  for (const core::Head& head : message.heads) out += to_line(head_value(head));
  for (const core::DeviceId& device : message.devices) out += to_line(Value::Object{{"of", core::to_hex(device)}});
  const std::size_t lines = message.heads.size() + message.devices.size();
  return out + to_line(Value::Object{{"end", static_cast<std::int64_t>(lines)}});
}

void VectorReader::begin(const Value& value) {
  throw_if_error(value);
  require_version(value);
  message_.collection = hex_member<16>(value, "collection");
  message_.device = hex_member<8>(value, "device");
  message_.name = core::mend_text(value.text("name"));  // it will be shown on a terminal
  message_.clock.wall_ms = value.number("wall");
  if (const Value* newest = value.find("newest")) {
    const core::Head head = head_of(*newest);
    message_.newest = core::EventRef{head.device, head.seq, core::shorten(head.hash)};
  }
  state_ = State::inside;
}

void VectorReader::line(std::string_view line) {
  const Value value = parse_line(line);
  if (state_ == State::before) return begin(value);
  if (state_ == State::ended) bad_message("lines follow the end");
  if (message_.heads.size() + message_.devices.size() > kMostHeads) {
    throw core::Error(core::Fault::too_large, "The other side names too many heads. Nothing was stored.");
  }
  if (value.as_array() != nullptr) {
    message_.heads.push_back(head_of(value));
  } else if (value.find("of") != nullptr) {
    message_.devices.push_back(hex_member<8>(value, "of"));
  } else if (const auto lines = static_cast<std::int64_t>(message_.heads.size() + message_.devices.size());
             value.number("end", -1) == lines) {
    state_ = State::ended;
  } else {
    throw_if_error(value);
    bad_message("the vector does not end as it should");
  }
}

VectorMessage VectorReader::take() {
  if (state_ != State::ended) cut_off();
  return std::move(message_);
}

void each_line(std::string_view text, const std::function<void(std::string_view)>& line) {
  while (!text.empty()) {
    const std::size_t end = text.find('\n');
    if (end == text.npos) cut_off();
    line(text.substr(0, end));
    text.remove_prefix(end + 1);
  }
}

VectorMessage vector_from_text(std::string_view text) {
  VectorReader reader;
  each_line(text, [&](std::string_view line) { reader.line(line); });
  return reader.take();
}

}  // namespace rackside::sync
