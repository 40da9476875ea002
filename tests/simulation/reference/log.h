#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/book/book.h"
#include "core/log/event.h"

namespace rackside::simulation::reference {

// The reference fold: what core/fold/FOLD.md says, written a second time and as plainly as it goes. Everything is in
// memory, everything is computed again, nothing is carried forward, nothing is clever. It shares with the product the
// parsing of an event, the table of kinds and the arithmetic of zones, and nothing else.

using Index = std::size_t;

struct Node {
  core::EventRef ref;
  core::Event event;
  std::optional<Index> parent;                          ///< the event before it on its line
  std::vector<std::pair<Index, core::Relation>> names;  ///< held events that it names; each once, by what says most
};

/// All events that a book would send to one that has nothing. Ascending by reference.
class Log {
 public:
  explicit Log(core::Book& book);

  std::size_t size() const { return nodes_.size(); }
  const Node& operator[](Index i) const { return nodes_[i]; }
  const core::CollectionId& collection() const { return collection_; }
  std::optional<Index> find(const core::EventRef& ref) const;
  /// Whether `event` stands at or before `head` on head's line.
  bool on_line(Index event, Index head) const;
  /// What an event names, directly, or (`saw`) through at most 64 steps of naming.
  const std::map<Index, core::Relation>& knows(Index i) const { return knows_[i]; }

 private:
  void connect();
  std::map<Index, core::Relation> closure(Index i) const;

  std::vector<Node> nodes_;
  std::map<core::EventRef, Index> index_;
  std::map<core::EventRef, core::EventRef> previous_;
  std::vector<std::map<Index, core::Relation>> knows_;
  core::CollectionId collection_{};
};

}  // namespace rackside::simulation::reference
