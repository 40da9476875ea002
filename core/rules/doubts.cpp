#include "core/rules/doubts.h"

#include <algorithm>
#include <optional>

namespace rackside::core {
namespace {

bool is_departure(Kind kind) {
  return kind == Kind::left || kind == Kind::died;
}

bool leads_home(Kind kind) {
  return kind == Kind::moved || kind == Kind::swapped;
}

/// Whether i cannot have been before j: by an order, or by half an hour of times that nobody checked.
bool is_after(const Group& group, std::size_t i, std::size_t j) {
  const int order = order_between(group, j, i);
  return order < 0 || (order == 0 && group[i].observed - group[j].observed >= kSureGap);
}

bool came_home(const Group& group, std::size_t departure) {
  if (group[departure].kind == Kind::died) return false;
  for (std::size_t i = 0; i < group.size(); ++i) {
    if (leads_home(group[i].kind) && is_after(group, i, departure)) return true;
  }
  return false;
}

/// The earliest departure that nothing ended: all that comes after it contradicts it.
std::optional<std::size_t> departure_that_holds(const Group& group) {
  std::optional<std::size_t> earliest;
  for (std::size_t i = 0; i < group.size(); ++i) {
    if (!is_departure(group[i].kind) || came_home(group, i)) continue;
    const auto when = [&](std::size_t at) { return std::tie(group[at].observed, group[at].ref); };
    if (!earliest || when(i) < when(*earliest)) earliest = i;
  }
  return earliest;
}

/// All that `from` reaches by `edges`, itself only through a ring.
std::set<Thing> reached(const Parents& edges, Thing from) {
  std::set<Thing> seen;
  std::vector<Thing> open{from};
  while (!open.empty()) {
    const auto next = edges.find(open.back());
    open.pop_back();
    if (next == edges.end()) continue;
    for (Thing one : next->second) {
      if (seen.insert(one).second) open.push_back(one);
    }
  }
  return seen;
}

}  // namespace

bool tells_of_life(Kind kind) {
  switch (kind) {
    case Kind::paired:
    case Kind::fed:
    case Kind::refused:
    case Kind::offered:
    case Kind::leftover:
    case Kind::ate:
    case Kind::regurgitated:
    case Kind::shed:
    case Kind::cleared:
    case Kind::opaque:
    case Kind::locked:
    case Kind::palpated:
    case Kind::ovulated:
    case Kind::gravid:
    case Kind::laid:
    case Kind::treated:
      return true;
    default:
      return false;
  }
}

bool tells_of_eggs(Kind kind) {
  return kind == Kind::palpated || kind == Kind::ovulated || kind == Kind::gravid || kind == Kind::laid;
}

std::vector<std::size_t> contradictions_of_departure(const Group& group) {
  const auto departure = departure_that_holds(group);
  if (!departure) return {};
  std::vector<std::size_t> out{*departure};
  for (std::size_t i = 0; i < group.size(); ++i) {
    const bool homecoming = leads_home(group[i].kind) && group[*departure].kind == Kind::died;
    if (!homecoming && !tells_of_life(group[i].kind)) continue;
    if (is_after(group, i, *departure)) out.push_back(i);
  }
  if (out.size() == 1) out.clear();
  return out;
}

Verdict stands_until_answered() {
  return {.outcome = "stands", .asks = true, .answers = {"stands"}};
}

std::set<Thing> ring_of_ancestors(const Parents& parents, Thing animal) {
  const std::set<Thing> above = reached(parents, animal);
  if (!above.contains(animal)) return {};
  Parents children;
  for (const auto& [child, all] : parents) {
    for (Thing parent : all) children[parent].insert(child);
  }
  const std::set<Thing> below = reached(children, animal);
  std::set<Thing> ring;
  std::set_intersection(above.begin(), above.end(), below.begin(), below.end(), std::inserter(ring, ring.end()));
  return ring;
}

}  // namespace rackside::core
