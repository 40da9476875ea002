#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "core/fold/occupancy.h"

namespace rackside::core {

/// A stay as one place sees it.
struct PlaceStay {
  Thing animal = 0;
  Stay stay;
};

/// The stays at a place that had not ended before a time.
struct PlaceStays {
  Instant from = 0;
  std::vector<PlaceStay> stays;
};

/// What the fold remembers of a book's tables from one run to the next, so that a long merge reads them once. It is
/// emptied when another process wrote or a transaction was taken back, and before it grows large: what it holds is what
/// the tables hold, never more.
struct FoldMemory {
  struct TextHash {
    using is_transparent = void;
    std::size_t operator()(std::string_view text) const { return std::hash<std::string_view>{}(text); }
  };
  std::unordered_map<std::string, Thing, TextHash, std::equal_to<>> things;  ///< by code, joined codes followed
  std::unordered_map<Thing, PlaceStays> stays_at;                            ///< by place
  std::unordered_map<Thing, std::vector<Stay>> stays_of;                     ///< by animal

  static constexpr std::size_t kMost = 32'768;
  void keep_small() {
    if (things.size() > kMost) things.clear();
    if (stays_at.size() > kMost) stays_at.clear();
    if (stays_of.size() > kMost) stays_of.clear();
  }
};

}  // namespace rackside::core
