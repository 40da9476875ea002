#include <algorithm>
#include <map>
#include <numeric>

#include "core/rules/rule.h"

// Young out of the eggs of one clutch (or of one female, where the clutch has no code) within two weeks. An egg that
// carries a number hatches once, whoever tells it and how often; counts without numbers add up when their order is
// known, because each tells of those that came since. Accounts that may be of the same young are one question, and the
// larger count is believed meanwhile, so that no hatchling is forgotten in the box.
namespace rackside::core {
namespace {

constexpr std::int64_t kNoNumber = 0;

/// What can only be counted once: one account without egg numbers, or all accounts of one numbered egg.
struct Unit {
  std::vector<std::size_t> accounts;
  std::int64_t young = 1;
  bool told_apart = false;  ///< a numbered egg
};

/// Makes the sets of two members one. By value: `replace` must not see its own work change what it looks for.
void join(std::vector<std::size_t>& sets, std::size_t a, std::size_t b) {
  const auto [least, most] = std::minmax({sets[a], sets[b]});
  std::replace(sets.begin(), sets.end(), most, least);
}

bool is_echo(const Group& group, std::size_t i) {
  for (std::size_t j = 0; j < group.size(); ++j) {
    if (group.link(i, j).named == Relation::same) return true;
  }
  return false;
}

std::vector<Unit> units_of(const Group& group) {
  std::vector<Unit> units;
  std::map<std::int64_t, Unit> eggs;
  for (std::size_t i = 0; i < group.size(); ++i) {
    if (is_echo(group, i)) continue;
    const std::int64_t egg = std::max(kNoNumber, group[i].event->own.number("egg"));
    if (egg != kNoNumber) {
      eggs[egg].accounts.push_back(i);
      continue;
    }
    units.push_back({{i}, std::clamp<std::int64_t>(group[i].event->own.number("count", 1), 0, kMostCounted)});
  }
  for (auto& [number, unit] : eggs) {
    unit.told_apart = true;
    units.push_back(std::move(unit));
  }
  return units;
}

/// Nobody can say whether they tell of the same young.
bool may_be_one(const Group& group, const Unit& a, const Unit& b) {
  if (a.told_apart && b.told_apart) return false;
  return std::any_of(a.accounts.begin(), a.accounts.end(), [&](std::size_t i) {
    return std::any_of(b.accounts.begin(), b.accounts.end(),
                       [&](std::size_t j) { return order_between(group, i, j) == 0; });
  });
}

/// Tellings of one egg that nobody put in order: told twice, or two eggs with one number. Of those that are tied so,
/// directly or through others, all but one; whatever order they are listed in.
std::int64_t doubtful_tellings(const Group& group, const Unit& egg) {
  std::vector<std::size_t> tied(egg.accounts.size());
  std::iota(tied.begin(), tied.end(), std::size_t{0});
  std::int64_t doubtful = 0;
  for (std::size_t a = 0; a < tied.size(); ++a) {
    for (std::size_t b = a + 1; b < tied.size(); ++b) {
      if (tied[a] == tied[b] || order_between(group, egg.accounts[a], egg.accounts[b]) != 0) continue;
      join(tied, a, b);
      ++doubtful;
    }
  }
  return doubtful;
}

/// The number of each unit's set of those that may be one, directly or through others.
std::vector<std::size_t> sets_of(const Group& group, const std::vector<Unit>& units) {
  std::vector<std::size_t> set(units.size());
  std::iota(set.begin(), set.end(), 0);
  for (std::size_t a = 0; a < units.size(); ++a) {
    for (std::size_t b = a + 1; b < units.size(); ++b) {
      if (set[a] != set[b] && may_be_one(group, units[a], units[b])) join(set, a, b);
    }
  }
  return set;
}

}  // namespace

Verdict judge_hatching(const Group& group) {
  const std::vector<Unit> units = units_of(group);
  const std::vector<std::size_t> sets = sets_of(group, units);
  std::int64_t believed = 0;
  std::int64_t together = 0;
  for (std::size_t set = 0; set < units.size(); ++set) {
    std::int64_t numbered = 0;
    std::int64_t largest = 0;
    for (std::size_t i = 0; i < units.size(); ++i) {
      if (sets[i] != set) continue;
      if (units[i].told_apart) numbered += units[i].young;
      largest = std::max(largest, units[i].young);
      together += units[i].young + (units[i].told_apart ? doubtful_tellings(group, units[i]) : 0);
    }
    believed += std::max(numbered, largest);
  }
  Verdict verdict{.outcome = "hatched", .amount = believed};
  if (together != believed) {
    verdict.asks = true;
    verdict.answers = {"told-twice", "more-young"};
    verdict.detail.set("together", together);
  }
  return verdict;
}

}  // namespace rackside::core
