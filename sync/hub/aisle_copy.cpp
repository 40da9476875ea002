#include "sync/hub/aisle_copy.h"

#include <charconv>
#include <chrono>
#include <set>

#include "core/crypto/key.h"
#include "core/entry/aisle.h"
#include "sync/hub/newest.h"
#include "sync/protocol/lines.h"

namespace rackside::sync::hub {

using core::Value;

namespace {

/// What is "of the last days" moves on without an event.
constexpr std::int64_t kMostAgeMs = 10 * 60 * 1000;
/// A large collection takes a while to gather, so it is gathered for at most this part of the time.
constexpr std::int64_t kPause = 9;

std::int64_t steady_ms() {
  using namespace std::chrono;
  return duration_cast<milliseconds>(steady_clock::now().time_since_epoch()).count();
}

/// "EPOCH.17" gives 17 when the epoch is that one, else -1.
std::int64_t version_of(const std::string& since, const std::string& epoch) {
  if (!since.starts_with(epoch + ".")) return -1;
  std::int64_t out = -1;
  const char* begin = since.data() + epoch.size() + 1;
  const auto [end, error] = std::from_chars(begin, since.data() + since.size(), out);
  return error == std::errc{} && end == since.data() + since.size() ? out : -1;
}

}  // namespace

AisleCopy::AisleCopy() : epoch_(core::to_hex(core::random_array<8>())) {}

void AisleCopy::take(const std::string& key, std::string text) {
  Line& line = lines_[key];
  if (line.text == text && line.version > 0) return;
  line.text = std::move(text);
  line.version = version_;
}

std::int64_t AisleCopy::refresh(core::Book& book, std::int64_t now_ms) {
  const std::int64_t begun = steady_ms();
  const bool aged = made_ms_ == INT64_MIN || begun - made_ms_ > kMostAgeMs;
  std::vector<core::Head> heads = newest_of_all(book);
  if (!aged && heads == heads_) return 0;
  const std::int64_t pause = aged ? 0 : kPause * took_ms_ - (begun - made_ms_);
  if (pause > 0) return pause;
  core::Reader reader(book);
  ++version_;
  std::set<std::string> present;
  for (core::AisleLine& line : core::aisle_lines(reader, now_ms)) {
    present.insert(line.key);
    take(line.key, std::move(line.text));
  }
  for (auto& [key, line] : lines_) {
    if (!present.contains(key)) take(key, "");
  }
  heads_ = std::move(heads);
  made_ms_ = steady_ms();
  took_ms_ = made_ms_ - begun;
  return 0;
}

std::string AisleCopy::answer(core::Book& book, const core::DeviceId& device, const std::string& since,
                              std::int64_t now_ms) {
  const std::lock_guard lock(mutex_);
  const std::int64_t pause = refresh(book, now_ms);
  const std::int64_t known = version_of(since, epoch_);
  Value head = Value::Object{{"rackside", kProtocolVersion},
                             {"aisle", epoch_ + "." + std::to_string(version_)},
                             {"since", known < 0 ? std::string() : since},
                             {"wall", now_ms}};
  if (pause > 0) head.set("again_ms", pause);
  for (const core::Head& one : heads_) {
    if (one.device == device) head.set("mine", head_value(one));
  }
  std::string out = to_line(head);
  std::int64_t count = 0;
  for (const auto& [key, line] : lines_) {
    if (line.version <= known || (line.text.empty() && known < 0)) continue;
    out += line.text.empty() ? to_line(Value::Object{{"gone", key}}) : line.text + "\n";
    ++count;
  }
  return out + to_line(Value::Object{{"end", count}});
}

}  // namespace rackside::sync::hub
