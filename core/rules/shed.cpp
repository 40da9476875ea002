#include <algorithm>

#include "core/rules/rule.h"

// Sheds within a week are one shed, on the earlier day. "Stuck" is believed over "complete" until a later `cleared`.
namespace rackside::core {

Verdict judge_shed(const Group& group) {
  Verdict verdict{.outcome = "complete"};
  bool stuck = false;
  for (std::size_t i = 0; i < group.size(); ++i) {
    if (group[i].kind != Kind::shed || !group[i].event->own.find("stuck")) continue;
    bool cleared = false;
    for (std::size_t j = 0; j < group.size(); ++j) {
      cleared = cleared || (group[j].kind == Kind::cleared && order_between(group, i, j) < 0);
    }
    stuck = stuck || !cleared;
  }
  const bool seen = std::any_of(group.accounts().begin(), group.accounts().end(),
                                [](const Account& account) { return account.kind == Kind::shed; });
  if (stuck) verdict.outcome = "stuck";
  if (!seen) verdict.outcome = "cleared";
  return verdict;
}

}  // namespace rackside::core
