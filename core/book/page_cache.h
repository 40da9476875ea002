#pragma once

#include "core/book/database.h"

namespace rackside::core {

/// How much memory SQLite may hold for pages of the book while this lives; then as much as before. It is taken only as
/// pages are read.
class PageCache {
 public:
  PageCache(Database& database, std::int64_t kibibytes);
  ~PageCache();
  PageCache(const PageCache&) = delete;
  PageCache& operator=(const PageCache&) = delete;

 private:
  Database& database_;
  std::int64_t usual_ = 0;
};

/// A fold of a whole log comes back to the last pages of every animal again and again: in the usual cache each was read
/// from the file anew.
constexpr std::int64_t kCacheOfWholeFold = 192 << 10;
/// A list reads everything once, from end to end: pages that are let go again are cheaper than memory for all of them.
constexpr std::int64_t kCacheOfList = 512;

}  // namespace rackside::core
