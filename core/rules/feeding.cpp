#include <algorithm>

#include "core/rules/rule.h"

// All feeding accounts of one animal in one feeding night: fed, refused, offered, leftover, ate. The outcome words:
//   ate         amount = servings the plan counts
//   refused
//   offered     food is with the animal: look in the morning
//   check-tub   neither a meal nor a refusal until somebody has looked
namespace rackside::core {
namespace {

enum class Says { ate, refused, offered };

Says says(Kind kind) {
  switch (kind) {
    case Kind::fed:
    case Kind::ate:
      return Says::ate;
    case Kind::refused:
    case Kind::leftover:
      return Says::refused;
    default:
      return Says::offered;
  }
}

using Members = std::vector<std::size_t>;

/// A second account of the very same thing adds nothing.
bool is_echo(const Group& group, std::size_t i) {
  for (std::size_t j = 0; j < group.size(); ++j) {
    if (group.link(i, j).named == Relation::same && says(group[i].kind) == says(group[j].kind)) return true;
  }
  return false;
}

bool contradict(const Group& group, std::size_t i, std::size_t j) {
  return says(group[i].kind) != says(group[j].kind);
}

/// Those not ordered before any account that contradicts them.
Members last_words(const Group& group, const Members& outcomes) {
  Members last;
  for (std::size_t i : outcomes) {
    const bool superseded = std::any_of(outcomes.begin(), outcomes.end(), [&](std::size_t j) {
      return contradict(group, i, j) && order_between(group, i, j) < 0;
    });
    if (!superseded) last.push_back(i);
  }
  return last;
}

bool names_an_offer(const Group& group, std::size_t i) {
  for (std::size_t j = 0; j < group.size(); ++j) {
    if (group[j].kind == Kind::offered && group.link(i, j).named) return true;
  }
  return false;
}

/// An offer is closed by an outcome that names it, by one that names no offer and came after it, and by a later offer.
bool is_open_offer(const Group& group, std::size_t offer) {
  for (std::size_t j = 0; j < group.size(); ++j) {
    if (j == offer) continue;
    if (group.link(j, offer).named) return false;
    const bool may_close = group[j].kind == Kind::offered || !names_an_offer(group, j);
    if (may_close && order_between(group, offer, j) < 0) return false;
  }
  return true;
}

/// Servings that nobody can doubt: every two accounts are ordered, or one says "again".
bool all_apart(const Group& group, const Members& meals) {
  for (std::size_t a = 0; a < meals.size(); ++a) {
    for (std::size_t b = a + 1; b < meals.size(); ++b) {
      if (order_between(group, meals[a], meals[b]) == 0) return false;
    }
  }
  return true;
}

Verdict meals_verdict(const Group& group, const Members& meals) {
  Verdict verdict{.outcome = "ate", .amount = 1};
  if (meals.size() < 2) return verdict;
  if (all_apart(group, meals)) {
    verdict.amount = static_cast<std::int64_t>(meals.size());
    verdict.detail.set("caution", "fed-twice");
    return verdict;
  }
  verdict.asks = true;
  verdict.answers = {"once", "twice"};
  verdict.detail.set("caution", "perhaps-fed-twice");
  return verdict;
}

}  // namespace

Verdict judge_feeding(const Group& group) {
  Members outcomes;
  bool offer_open = false;
  for (std::size_t i = 0; i < group.size(); ++i) {
    if (says(group[i].kind) == Says::offered) {
      offer_open = offer_open || is_open_offer(group, i);
    } else if (!is_echo(group, i)) {
      outcomes.push_back(i);
    }
  }
  const Members last = last_words(group, outcomes);
  Members meals;
  std::copy_if(last.begin(), last.end(), std::back_inserter(meals),
               [&](std::size_t i) { return says(group[i].kind) == Says::ate; });
  // An empty `last` with outcomes is a ring of orders: nobody can say, so nobody is believed.
  const bool mixed = (!outcomes.empty() && last.empty()) || (!meals.empty() && meals.size() != last.size());
  Verdict verdict;
  if (mixed) {
    verdict.outcome = "check-tub";
    verdict.asks = true;
    verdict.answers = {"ate", "refused"};
  } else if (!meals.empty()) {
    verdict = meals_verdict(group, meals);
  } else if (!last.empty()) {
    verdict.outcome = "refused";
  }
  if (offer_open) {
    if (verdict.outcome.empty() || verdict.outcome == "refused") verdict.outcome = "offered";
    verdict.detail.set("offer", "open");
  }
  if (verdict.outcome.empty()) verdict.outcome = "offered-lapsed";
  return verdict;
}

}  // namespace rackside::core
