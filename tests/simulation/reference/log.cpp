#include "tests/simulation/reference/log.h"

#include <algorithm>

#include "core/crypto/sha256.h"

namespace rackside::simulation::reference {

using namespace core;

namespace {
constexpr int kSteps = 64;
}

Log::Log(Book& book) : collection_(book.collection()) {
  book.missing_for({}, [&](Segment&& segment) {
    EventRef before{segment.device, segment.after, shorten(segment.previous)};
    Hash hash = segment.previous;
    for (const std::string& bytes : segment.events) {
      hash = sha256({ByteSpan(hash), as_bytes(bytes)});
      const EventRef ref{segment.device, before.seq + 1, shorten(hash)};
      if (!previous_.contains(ref))
        nodes_.push_back({.ref = ref, .event = *decode_event(bytes).event, .parent = {}, .names = {}});
      previous_[ref] = before;
      before = ref;
    }
    return true;
  });
  std::sort(nodes_.begin(), nodes_.end(), [](const Node& a, const Node& b) { return a.ref < b.ref; });
  for (Index i = 0; i < nodes_.size(); ++i) index_[nodes_[i].ref] = i;
  connect();
}

void Log::connect() {
  for (Node& node : nodes_) {
    node.parent = find(previous_.at(node.ref));
    std::map<Index, Relation> most;
    for (const Answer& answer : node.event.re) {
      const auto target = find(answer.event);
      if (!target) continue;
      const auto [held, fresh] = most.emplace(*target, answer.relation);
      if (!fresh) held->second = std::max(held->second, answer.relation);
    }
    node.names.assign(most.begin(), most.end());
  }
  for (Index i = 0; i < nodes_.size(); ++i) knows_.push_back(closure(i));
}

std::map<Index, Relation> Log::closure(Index i) const {
  std::map<Index, Relation> known(nodes_[i].names.begin(), nodes_[i].names.end());
  std::set<Index> level;
  for (const auto& [named, relation] : nodes_[i].names) level.insert(named);
  for (int step = 2; step <= kSteps && !level.empty(); ++step) {
    std::set<Index> next;
    for (const Index one : level) {
      for (const auto& [named, relation] : nodes_[one].names) {
        if (known.emplace(named, Relation::saw).second) next.insert(named);
      }
    }
    level = std::move(next);
  }
  return known;
}

std::optional<Index> Log::find(const EventRef& ref) const {
  const auto found = index_.find(ref);
  return found == index_.end() ? std::nullopt : std::optional(found->second);
}

bool Log::on_line(Index event, Index head) const {
  for (std::optional<Index> at = head; at; at = nodes_[*at].parent) {
    if (*at == event) return true;
  }
  return false;
}

}  // namespace rackside::simulation::reference
