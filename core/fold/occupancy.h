#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/fold/account.h"
#include "core/rules/rule.h"

namespace rackside::core {

/// One live move of one animal: `moved`, `swapped`, `paired` (as the visitor), `separated`, `left`, `died`.
struct Move {
  Account account;
  enum class Effect : std::uint8_t { home, visit, end_visit, away } effect = Effect::home;
  std::optional<Thing> place;    ///< for home and visit
  std::optional<Thing> partner;  ///< for visit: who lives there
};

struct Stay {
  Instant since = 0;
  std::optional<Instant> until;
  EventRow ended_by = 0;  ///< the move that ended it; 0 while it lasts
  Thing place = 0;
  enum class Role : std::uint8_t { home, visiting } role = Role::home;
  EventRow by = 0;  ///< the move that began it
  std::optional<Thing> partner;
  bool operator==(const Stay&) const = default;
};

/// A verdict about some of the moves, by index into the given moves.
struct MoveMatter {
  RuleId rule = RuleId::whereabouts;
  std::vector<std::size_t> members;
  Verdict verdict;
};

struct Occupancy {
  std::vector<Stay> stays;  ///< ascending by `since`
  std::vector<MoveMatter> matters;
};

/// Folds all live moves of one animal. `links` is a Group over the same accounts in the same order: what each names,
/// directly or through others. `resolve` gives each verdict as settlements leave it; an answer is the text of the move
/// that is right (the other then moves nobody), or for a move without a time "moved" or "not-moved". A sure move takes
/// effect at the latest of its own time and those of sure moves that it names; an unsure one at the latest sure move
/// that it names, else at the earliest sure one that names it, else it moves nobody and is a question. Equal instants:
/// the naming after the named, then (device, seq, hash).
using ResolveMoves = std::function<Verdict(RuleId, const std::vector<std::size_t>& members, Verdict)>;
Occupancy fold_moves(const std::vector<Move>& moves, const Group& links, const ResolveMoves& resolve);

}  // namespace rackside::core
