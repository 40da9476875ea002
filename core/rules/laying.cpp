#include <algorithm>

#include "core/rules/rule.h"

// Eggs of one female within 48 hours. An account that says `again` adds to what it names; accounts that say nothing of
// each other compete: the larger count is believed (no egg is forgotten in a tub) and a person is asked.
namespace rackside::core {
namespace {

struct Eggs {
  std::int64_t good = 0;
  std::int64_t slugs = 0;
  std::int64_t all() const { return good + slugs; }
};

Eggs eggs_of(const Account& account) {
  return {std::clamp<std::int64_t>(account.event->own.number("good"), 0, kMostCounted),
          std::clamp<std::int64_t>(account.event->own.number("slugs"), 0, kMostCounted)};
}

enum class Part { counted, more, echo };

Part part_of(const Group& group, std::size_t i) {
  for (std::size_t j = 0; j < group.size(); ++j) {
    if (group.link(i, j).named == Relation::same) return Part::echo;
  }
  for (std::size_t j = 0; j < group.size(); ++j) {
    if (group.link(i, j).named == Relation::again) return Part::more;
  }
  return Part::counted;
}

}  // namespace

Verdict judge_laying(const Group& group) {
  Eggs most;
  Eggs more;
  Eggs together;
  int counts = 0;
  std::int64_t first = -1;
  bool differ = false;
  for (std::size_t i = 0; i < group.size(); ++i) {
    const Eggs eggs = eggs_of(group[i]);
    switch (part_of(group, i)) {
      case Part::echo:
        break;
      case Part::more:
        more.good += eggs.good;
        more.slugs += eggs.slugs;
        break;
      case Part::counted:
        ++counts;
        together.good += eggs.good;
        together.slugs += eggs.slugs;
        differ = differ || (first >= 0 && first != eggs.all());
        first = eggs.all();
        if (eggs.all() > most.all() || (eggs.all() == most.all() && eggs.slugs > most.slugs)) most = eggs;
        break;
    }
  }
  Verdict verdict{.outcome = "laid", .amount = most.all() + more.all()};
  verdict.detail.set("good", most.good + more.good);
  verdict.detail.set("slugs", most.slugs + more.slugs);
  if (counts > 1) {
    verdict.asks = true;
    verdict.answers = {"recount", "more-eggs"};
    verdict.detail.set("counts", differ ? "differ" : "agree");
    verdict.detail.set("together_good", together.good + more.good);
    verdict.detail.set("together_slugs", together.slugs + more.slugs);
  }
  if (group.previous_start) verdict.detail.set("caution", "eggs-late");
  return verdict;
}

}  // namespace rackside::core
