#include "core/book/page_cache.h"

namespace rackside::core {
namespace {

/// As SQLite counts it: pages, or kibibytes below zero.
void set_cache(Database& database, std::int64_t size) {
  database.execute("PRAGMA cache_size=" + std::to_string(size));
}

}  // namespace

PageCache::PageCache(Database& database, std::int64_t kibibytes) : database_(database) {
  {
    auto query = database.prepare("PRAGMA cache_size");
    if (query.step()) usual_ = query.integer(0);
  }
  set_cache(database, -kibibytes);
}

PageCache::~PageCache() {
  try {
    set_cache(database_, usual_);
  } catch (const Error&) {
    // It stays as it is: nothing is wrong with that.
  }
}

}  // namespace rackside::core
