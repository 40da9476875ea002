#include "core/fold/occupancy.h"

#include <algorithm>
#include <tuple>

namespace rackside::core {
namespace {

struct Effective {
  std::size_t index = 0;
  Instant at = 0;
};

std::optional<Instant> latest_sure_named(const std::vector<Move>& moves, const Group& links, std::size_t i) {
  std::optional<Instant> latest;
  for (std::size_t j = 0; j < moves.size(); ++j) {
    if (!moves[j].account.sure || !links.link(i, j).named) continue;
    latest = std::max(latest.value_or(moves[j].account.observed), moves[j].account.observed);
  }
  return latest;
}

std::optional<Instant> earliest_sure_naming(const std::vector<Move>& moves, const Group& links, std::size_t i) {
  std::optional<Instant> earliest;
  for (std::size_t j = 0; j < moves.size(); ++j) {
    if (!moves[j].account.sure || !links.link(j, i).named) continue;
    earliest = std::min(earliest.value_or(moves[j].account.observed), moves[j].account.observed);
  }
  return earliest;
}

std::optional<Instant> effective_time(const std::vector<Move>& moves, const Group& links, std::size_t i) {
  const auto named = latest_sure_named(moves, links, i);
  if (moves[i].account.sure) return std::max(moves[i].account.observed, named.value_or(moves[i].account.observed));
  if (named) return named;
  return earliest_sure_naming(moves, links, i);
}

/// How many moves of the same instant it names, directly or through others: the naming comes after the named.
/// (`named` is transitive, so this count is a topological rank.)
int depth_at_instant(const std::vector<Effective>& all, const Group& links, const Effective& one) {
  return static_cast<int>(std::count_if(all.begin(), all.end(), [&](const Effective& other) {
    return other.at == one.at && links.link(one.index, other.index).named.has_value();
  }));
}

std::vector<Effective> in_order(const std::vector<Move>& moves, const Group& links,
                                std::vector<std::size_t>& timeless) {
  std::vector<Effective> order;
  for (std::size_t i = 0; i < moves.size(); ++i) {
    if (const auto at = effective_time(moves, links, i)) {
      order.push_back({i, *at});
    } else {
      timeless.push_back(i);
    }
  }
  std::vector<int> depth(moves.size());
  for (const Effective& one : order) depth[one.index] = depth_at_instant(order, links, one);
  std::sort(order.begin(), order.end(), [&](const Effective& a, const Effective& b) {
    return std::tie(a.at, depth[a.index], moves[a.index].account.ref) <
           std::tie(b.at, depth[b.index], moves[b.index].account.ref);
  });
  return order;
}

/// Two accounts of one move, at least: to the same tub, or out of the same visit.
bool is_repeat(const Move& a, const Move& b) {
  return a.effect == b.effect && (a.place == b.place || a.effect == Move::Effect::end_visit);
}

bool both_visit(const Move& a, const Move& b) {
  return a.effect == Move::Effect::visit && b.effect == Move::Effect::visit;
}

/// Accounts that nobody can put in order, next to each other in time: one question, not one a pair.
MoveMatter unordered_moves(const std::vector<Move>& moves, const std::vector<std::size_t>& run) {
  const bool visits =
      std::all_of(run.begin(), run.end(), [&](std::size_t i) { return moves[i].effect == Move::Effect::visit; });
  MoveMatter matter{.rule = visits ? RuleId::pairing : RuleId::whereabouts, .members = run};
  matter.verdict.outcome = visits ? "find-him" : "last-seen";
  matter.verdict.asks = true;
  for (std::size_t i : run) matter.verdict.answers.push_back(to_text(moves[i].account.ref));
  return matter;
}

MoveMatter timeless_move(std::size_t index) {
  MoveMatter matter{.rule = RuleId::whereabouts, .members = {index}};
  matter.verdict = {.outcome = "not-moved", .asks = true, .answers = {"moved", "not-moved"}};
  return matter;
}

/// The second pairing ends the first: when, nobody knows.
MoveMatter unrecorded_separation(std::size_t first, std::size_t second) {
  MoveMatter matter{.rule = RuleId::pairing, .members = {first, second}};
  matter.verdict.outcome = "separation-not-recorded";
  return matter;
}

class StayBuilder {
 public:
  void apply(const Move& move, Instant at, EventRow by) {
    switch (move.effect) {
      case Move::Effect::home:
        end(visit_, at, by);
        end(home_, at, by);
        home_ = begin(move, at, by, Stay::Role::home);
        break;
      case Move::Effect::visit:
        end(visit_, at, by);
        visit_ = begin(move, at, by, Stay::Role::visiting);
        break;
      case Move::Effect::end_visit:
        end(visit_, at, by);
        break;
      case Move::Effect::away:
        end(visit_, at, by);
        end(home_, at, by);
        break;
    }
  }

  std::vector<Stay> finish() {
    std::erase_if(stays_, [](const Stay& stay) { return stay.until && *stay.until <= stay.since; });
    return std::move(stays_);
  }

 private:
  std::optional<std::size_t> begin(const Move& move, Instant at, EventRow by, Stay::Role role) {
    if (!move.place) return std::nullopt;
    stays_.push_back(
        {.since = at, .until = std::nullopt, .place = *move.place, .role = role, .by = by, .partner = move.partner});
    return stays_.size() - 1;
  }
  void end(std::optional<std::size_t>& open, Instant at, EventRow by) {
    if (open) {
      stays_[*open].until = at;
      stays_[*open].ended_by = by;
    }
    open.reset();
  }

  std::vector<Stay> stays_;
  std::optional<std::size_t> home_;
  std::optional<std::size_t> visit_;
};

/// From `at` on, the moves each of which nobody can put after the one before it.
std::vector<std::size_t> run_from(const Group& links, const std::vector<Effective>& order, std::size_t at) {
  std::vector<std::size_t> run{order[at].index};
  for (std::size_t k = at + 1; k < order.size() && order_between(links, run.back(), order[k].index) == 0; ++k) {
    run.push_back(order[k].index);
  }
  return run;
}

bool all_repeat(const std::vector<Move>& moves, const std::vector<std::size_t>& run) {
  return std::all_of(run.begin(), run.end(), [&](std::size_t i) { return is_repeat(moves[run.front()], moves[i]); });
}

std::vector<MoveMatter> find_matters(const std::vector<Move>& moves, const Group& links,
                                     const std::vector<Effective>& order, const std::vector<std::size_t>& timeless) {
  std::vector<MoveMatter> matters;
  for (std::size_t at = 0; at < order.size();) {
    const std::vector<std::size_t> run = run_from(links, order, at);
    if (!all_repeat(moves, run)) matters.push_back(unordered_moves(moves, run));
    at += run.size();
    if (at >= order.size()) break;
    const std::size_t next = order[at].index;
    if (both_visit(moves[run.back()], moves[next]) && !is_repeat(moves[run.back()], moves[next])) {
      matters.push_back(unrecorded_separation(run.back(), next));
    }
  }
  for (std::size_t i : timeless) matters.push_back(timeless_move(i));
  return matters;
}

/// Moves that a settlement says never were: a person chose another of the same question.
std::vector<bool> denied_moves(const std::vector<Move>& moves, const std::vector<MoveMatter>& matters) {
  std::vector<bool> denied(moves.size());
  for (const MoveMatter& matter : matters) {
    for (std::size_t chosen : matter.members) {
      if (matter.verdict.outcome != to_text(moves[chosen].account.ref)) continue;
      for (std::size_t other : matter.members) denied[other] = denied[other] || !is_repeat(moves[chosen], moves[other]);
    }
  }
  return denied;
}

}  // namespace

Occupancy fold_moves(const std::vector<Move>& moves, const Group& links, const ResolveMoves& resolve) {
  Occupancy result;
  std::vector<std::size_t> timeless;
  std::vector<Effective> order = in_order(moves, links, timeless);
  result.matters = find_matters(moves, links, order, timeless);
  for (MoveMatter& matter : result.matters) {
    matter.verdict = resolve(matter.rule, matter.members, std::move(matter.verdict));
    const std::size_t first = matter.members.front();
    if (matter.members.size() == 1 && matter.verdict.outcome == "moved") {
      order.push_back({first, moves[first].account.observed});
    }
  }
  std::stable_sort(order.begin(), order.end(), [](const Effective& a, const Effective& b) { return a.at < b.at; });
  const std::vector<bool> denied = denied_moves(moves, result.matters);
  StayBuilder builder;
  for (const Effective& one : order) {
    if (!denied[one.index]) builder.apply(moves[one.index], one.at, moves[one.index].account.row);
  }
  result.stays = builder.finish();
  return result;
}

}  // namespace rackside::core
