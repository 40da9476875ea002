#include "core/base/pages.h"

#include <sys/mman.h>
#include <unistd.h>

#include <cstdint>

namespace rackside::core {

void make_ready([[maybe_unused]] void* begin, [[maybe_unused]] std::size_t bytes) {
#ifdef MADV_POPULATE_WRITE
  const auto page = static_cast<std::uintptr_t>(sysconf(_SC_PAGESIZE));
  const auto first = (reinterpret_cast<std::uintptr_t>(begin) + page - 1) / page * page;
  const auto last = (reinterpret_cast<std::uintptr_t>(begin) + bytes) / page * page;
  // An older kernel refuses; then the pages come one by one.
  if (first < last) static_cast<void>(madvise(reinterpret_cast<void*>(first), last - first, MADV_POPULATE_WRITE));
#endif
}

}  // namespace rackside::core
