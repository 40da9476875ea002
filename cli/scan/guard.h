#pragma once

#include <string>
#include <unordered_map>

#include "core/time/zone.h"

namespace rackside::cli {

/// Notices when one label was scanned twice by accident: the same entry for the same code within a few seconds.
/// Pure: the caller gives the time, from a clock that nobody sets.
class DoubleScanGuard {
 public:
  explicit DoubleScanGuard(core::Instant holds_ms = 10'000) : holds_ms_(holds_ms) {}
  bool is_double(const std::string& code, const std::string& entry, core::Instant now_ms) const {
    const auto known = last_.find(code + "|" + entry);
    return known != last_.end() && now_ms - known->second < holds_ms_;
  }
  void recorded(const std::string& code, const std::string& entry, core::Instant now_ms) {
    last_[code + "|" + entry] = now_ms;
  }
  /// After an undo, the same scan means what it says.
  void forget() { last_.clear(); }

 private:
  core::Instant holds_ms_;
  std::unordered_map<std::string, core::Instant> last_;
};

}  // namespace rackside::cli
