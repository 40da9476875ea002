#include "core/fold/account.h"

#include <tuple>

namespace rackside::core {

int order_between(const Group& group, std::size_t i, std::size_t j) {
  if (group.link(j, i).named) return -1;
  if (group.link(i, j).named) return 1;
  const Account& a = group[i];
  const Account& b = group[j];
  if (!a.said && !b.said) {
    if (group.link(j, i).after_on_line) return -1;
    if (group.link(i, j).after_on_line) return 1;
  }
  if (a.sure && b.sure) {
    if (b.observed - a.observed >= kSureGap) return -1;
    if (a.observed - b.observed >= kSureGap) return 1;
  }
  return 0;
}

bool ranks_below(const Account& a, const Account& b) {
  return std::tie(a.sure, a.observed, a.ref) < std::tie(b.sure, b.observed, b.ref);
}

}  // namespace rackside::core
