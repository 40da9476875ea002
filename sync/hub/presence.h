#pragma once

#include <cstdint>
#include <map>
#include <mutex>
#include <optional>
#include <string>

#include "core/book/book.h"

namespace rackside::sync::hub {

/// What a device said of itself when it was heard last.
struct Told {
  std::int64_t seen_ms = 0;
  std::optional<std::int64_t> unsent;     ///< entries that it could not send yet
  std::optional<std::int64_t> oldest_ms;  ///< when the oldest of them was made
};

/// When devices were heard last and what waits on them, for the keeper. Held in memory to the second, and in the book
/// (this copy alone, never synced) whenever what waits has changed, else every ten minutes. Thread: safe.
class Presence {
 public:
  /// Notes it; what is not said of what waits stays as it was said last. Returns what must be kept too (`keep`), where
  /// what waits has changed or nothing was kept for ten minutes.
  std::optional<Told> hear(const std::string& device, Told told);
  std::optional<Told> of(const std::string& device);

 private:
  struct Heard {
    Told told;
    std::int64_t kept_ms = 0;
  };
  std::mutex mutex_;
  std::map<std::string, Heard> heard_;
};

/// Writes it into the book.
void keep(core::Book& book, const std::string& device, const Told& told);
/// What the book holds of it: of an earlier run of the hub, perhaps.
std::optional<Told> kept(core::Book& book, const std::string& device);

}  // namespace rackside::sync::hub
