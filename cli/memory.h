#pragma once

#include <malloc.h>

namespace rackside::cli {

/// The C library raises the size from which it gives memory back at once as it sees large blocks freed. A long merge
/// then keeps the holes: 28 MiB more after 500 000 entries than after 200 000. Fixed, both take the same.
inline void keep_memory_flat() {
#ifdef __GLIBC__
  ::mallopt(M_MMAP_THRESHOLD, 128 * 1024);
#endif
}

}  // namespace rackside::cli
