#pragma once

#include <map>
#include <mutex>
#include <string>

#include "core/book/book.h"

namespace rackside::sync::hub {

/// The aisle's copy of a book, kept in memory and numbered by versions, so that a phone which holds an earlier version
/// gets the changed lines only. Source: sync/PROTOCOL.md, section 8. Thread: safe.
class AisleCopy {
 public:
  AisleCopy();

  /// The answer to `GET /v1/aisle?since=…`. `since` is what an earlier answer named, or empty; one that this copy does
  /// not know (the hub was started anew) gives the whole. `device`: whose newest event the first line names.
  std::string answer(core::Book& book, const core::DeviceId& device, const std::string& since, std::int64_t now_ms);

 private:
  struct Line {
    std::string text;  ///< empty: gone
    std::int64_t version = 0;
  };

  /// Returns how many milliseconds the copy stays behind the book, so as not to be gathered all the time; 0: it is new.
  std::int64_t refresh(core::Book& book, std::int64_t now_ms);
  void take(const std::string& key, std::string text);

  std::mutex mutex_;
  std::string epoch_;  ///< random, new with each start: versions of another start mean nothing here
  std::int64_t version_ = 0;
  std::map<std::string, Line> lines_;
  std::vector<core::Head> heads_;     ///< of the book, when the lines were made
  std::int64_t made_ms_ = INT64_MIN;  ///< by the monotonic clock
  std::int64_t took_ms_ = 0;
};

}  // namespace rackside::sync::hub
