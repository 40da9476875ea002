#pragma once

#include <condition_variable>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "sync/http/message.h"
#include "sync/hub/services.h"

namespace rackside::sync::hub {

/// Largest picture that is taken: a phone's photo of 12 million pixels has 3 to 6 MB.
inline constexpr std::size_t kMostPictureBytes = 8 * 1024 * 1024;

/// Takes photos that phones could not read themselves. What all of them may cost is bounded before a byte of one is
/// read: pictures on their way (each up to kMostPictureBytes of memory), pictures being read (each a process), and how
/// many a device sends in a minute. Thread: safe.
class PictureDesk {
 public:
  static constexpr std::size_t kOnTheirWay = 8;          ///< of all devices together
  static constexpr std::size_t kOnTheirWayOfDevice = 2;  ///< a phone sends them one after another
  static constexpr std::size_t kBeingRead = 2;
  static constexpr std::size_t kInAMinute = 30;  ///< of one device
  /// A picture that was announced and never came is forgotten: longer than a body may take (http::Limits) and be read.
  static constexpr std::int64_t kPatienceMs = 150'000;

  explicit PictureDesk(PictureReader read) : read_(std::move(read)) {}

  /// Before the body: a refusal, or nothing and the picture counts as on its way. `now_ms`: of a clock that only rises.
  std::optional<http::Response> admit(const std::string& device, std::int64_t now_ms);
  /// Reads the picture that was admitted. Errors: those of PictureReader; usage where the hub was given none.
  http::Response take(const http::Request& request);

 private:
  struct Expected {
    std::string device;
    std::int64_t at_ms = 0;
  };
  void forget_old(std::int64_t now_ms);
  void arrived(const std::string& device);
  PictureFindings read_in_turn(std::string_view bytes);

  PictureReader read_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<Expected> expected_;                             ///< admitted, not read yet
  std::map<std::string, std::vector<std::int64_t>> admitted_;  ///< of the last minute, by device
  std::size_t being_read_ = 0;
};

}  // namespace rackside::sync::hub
