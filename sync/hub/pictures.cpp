#include "sync/hub/pictures.h"

#include <algorithm>

#include "core/base/error.h"
#include "sync/protocol/lines.h"

namespace rackside::sync::hub {

using core::Error;
using core::Fault;
using core::Value;

namespace {

constexpr std::int64_t kMinuteMs = 60'000;

http::Response come_back(int status, const char* message) {
  http::Response out = http::error_response(status, "busy", message);
  out.fields.push_back({"Retry-After", "20"});
  return out;
}

http::Response answer_of(const PictureFindings& found) {
  Value::Array codes;
  for (const std::string& code : found.codes) codes.push_back(code);
  Value::Object unread;
  for (const auto& [why, count] : found.unread) unread.emplace_back(why, static_cast<std::int64_t>(count));
  http::Response out;
  out.content_type = std::string(kLinesType);
  out.body = to_line(Value::Object{{"codes", std::move(codes)},
                                   {"foreign", static_cast<std::int64_t>(found.foreign)},
                                   {"unread", std::move(unread)}});
  return out;
}

}  // namespace

void PictureDesk::forget_old(std::int64_t now_ms) {
  std::erase_if(expected_, [&](const Expected& one) { return now_ms - one.at_ms > kPatienceMs; });
  for (auto& [device, times] : admitted_)
    std::erase_if(times, [&](std::int64_t at) { return now_ms - at >= kMinuteMs; });
  std::erase_if(admitted_, [](const auto& one) { return one.second.empty(); });
}

std::optional<http::Response> PictureDesk::admit(const std::string& device, std::int64_t now_ms) {
  const std::lock_guard lock(mutex_);
  forget_old(now_ms);
  const auto mine =
      std::count_if(expected_.begin(), expected_.end(), [&](const Expected& one) { return one.device == device; });
  if (static_cast<std::size_t>(mine) >= kOnTheirWayOfDevice || expected_.size() >= kOnTheirWay)
    return come_back(503, "The hub has its hands full of photos. Send this one a little later.");
  std::vector<std::int64_t>& times = admitted_[device];
  if (times.size() >= kInAMinute)
    return come_back(429, "That were many photos in one minute. Send this one a little later.");
  times.push_back(now_ms);
  expected_.push_back({device, now_ms});
  return std::nullopt;
}

void PictureDesk::arrived(const std::string& device) {
  const std::lock_guard lock(mutex_);
  const auto mine =
      std::find_if(expected_.begin(), expected_.end(), [&](const Expected& one) { return one.device == device; });
  if (mine != expected_.end()) expected_.erase(mine);
}

PictureFindings PictureDesk::read_in_turn(std::string_view bytes) {
  {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [this] { return being_read_ < kBeingRead; });
    ++being_read_;
  }
  struct Done {
    PictureDesk& desk;
    ~Done() {
      const std::lock_guard lock(desk.mutex_);
      --desk.being_read_;
      desk.changed_.notify_one();
    }
  } const done{*this};
  return read_(bytes);
}

http::Response PictureDesk::take(const http::Request& request) {
  // Until it is read its bytes are in memory, so until then it counts.
  struct Arrival {
    PictureDesk& desk;
    const std::string& device;
    ~Arrival() { desk.arrived(device); }
  } const arrival{*this, request.device};
  if (!read_) throw Error(Fault::usage, "This hub was started without a reader of photos.");
  if (request.body.empty()) throw Error(Fault::unreadable_image, "There is no photo in the request. Take it anew.");
  return answer_of(read_in_turn(request.body));
}

}  // namespace rackside::sync::hub
