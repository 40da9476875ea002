#pragma once

#include <algorithm>
#include <vector>

#include "core/book/book.h"

namespace rackside::sync::hub {

/// The ends of all lines in the book, ascending, also of what is not signed yet and so cannot be sent to another book:
/// what was just entered at the hub itself counts for its phones at once.
inline std::vector<core::Head> newest_of_all(core::Book& book) {
  book.refresh();
  std::vector<core::Head> out;
  for (const auto& [id, branch] : book.log().branches()) {
    if (branch.head_seq > branch.base_seq)
      out.push_back({book.log().device_name(branch.device), branch.head_seq, branch.head_hash});
  }
  std::sort(out.begin(), out.end());
  return out;
}

}  // namespace rackside::sync::hub
