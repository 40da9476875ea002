// What is believed of several accounts of one matter, and what people have settled.
#include <algorithm>

#include "tests/simulation/reference/fold.h"

namespace rackside::simulation::reference {

using namespace core;

namespace {

constexpr Instant kSureApart = 30 * kMinute;

std::string quoted(const std::string& word) {
  return "\"" + word + "\"";
}

/// More than this in one account is a slip of the finger.
std::int64_t counted_in(std::int64_t number) {
  return std::clamp<std::int64_t>(number, 0, 10'000);
}

/// How many sets the members fall into when those that `tie` joins, directly or through others, are one.
template <typename Tie>
std::int64_t tied_sets(std::vector<std::size_t> members, const Tie& tie) {
  std::int64_t sets = 0;
  for (; !members.empty(); ++sets) {
    std::vector<std::size_t> reached{members.back()};
    members.pop_back();
    for (std::size_t next = 0; next < reached.size(); ++next) {
      const auto joined = std::stable_partition(members.begin(), members.end(),
                                                [&](std::size_t one) { return !tie(reached[next], one); });
      reached.insert(reached.end(), joined, members.end());
      members.erase(joined, members.end());
    }
  }
  return sets;
}

bool is_meal(Kind kind) {
  return kind == Kind::fed || kind == Kind::ate;
}
bool is_refusal(Kind kind) {
  return kind == Kind::refused || kind == Kind::leftover;
}

}  // namespace

int Fold::order(Index a, Index b) const {
  if (names(b, a)) return -1;
  if (names(a, b)) return 1;
  if (!time_[a].said && !time_[b].said) {
    if (log_.on_line(a, b)) return -1;
    if (log_.on_line(b, a)) return 1;
  }
  if (time_[a].sure && time_[b].sure) {
    if (time_[b].at - time_[a].at >= kSureApart) return -1;
    if (time_[a].at - time_[b].at >= kSureApart) return 1;
  }
  return 0;
}

bool Fold::names_as(Index a, Index b, Relation relation) const {
  const auto found = log_.knows(a).find(b);
  return found != log_.knows(a).end() && found->second == relation;
}

bool Fold::ranks_below(Index a, Index b) const {
  return std::tuple(time_[a].sure, time_[a].at, a) < std::tuple(time_[b].sure, time_[b].at, b);
}

Verdict Fold::judge(RuleId rule, const std::vector<Index>& members, std::optional<Instant> previous) const {
  if (rule == RuleId::feeding) return judge_feeding(members);
  if (rule == RuleId::shed) return judge_shed(members);
  if (rule == RuleId::dosing) return judge_dosing(members);
  if (rule == RuleId::hatching) return judge_hatching(members);
  return judge_laying(members, previous.has_value());
}

Verdict Fold::judge_feeding(const std::vector<Index>& members) const {
  const auto kind = [&](Index i) { return log_[i].event.kind; };
  const auto alike = [&](Index a, Index b) {
    return is_meal(kind(a)) == is_meal(kind(b)) && is_refusal(kind(a)) == is_refusal(kind(b));
  };
  std::vector<Index> offers;
  std::vector<Index> outcomes;
  for (const Index i : members) {
    // A second account of the very same thing says nothing new.
    const bool echo = std::any_of(members.begin(), members.end(),
                                  [&](Index j) { return alike(i, j) && names_as(i, j, Relation::same); });
    if (kind(i) == Kind::offered) {
      offers.push_back(i);
    } else if (!echo) {
      outcomes.push_back(i);
    }
  }
  // The last words: nothing that contradicts them came after.
  std::vector<Index> last;
  for (const Index i : outcomes) {
    if (std::none_of(outcomes.begin(), outcomes.end(), [&](Index j) { return !alike(i, j) && order(i, j) < 0; }))
      last.push_back(i);
  }
  std::vector<Index> meals;
  for (const Index i : last) {
    if (is_meal(kind(i))) meals.push_back(i);
  }
  Verdict verdict;
  if ((!outcomes.empty() && last.empty()) || (!meals.empty() && meals.size() < last.size())) {
    verdict.outcome = "check-tub";
    verdict.asks = true;
    verdict.answers = {"ate", "refused"};
  } else if (!meals.empty()) {
    verdict.outcome = "ate";
    verdict.amount = 1;
    bool apart = true;
    for (const Index i : meals) {
      for (const Index j : meals) apart = apart && (i == j || order(i, j) != 0);
    }
    if (meals.size() > 1 && apart) {
      verdict.amount = static_cast<std::int64_t>(meals.size());
      verdict.detail["caution"] = quoted("fed-twice");
    } else if (meals.size() > 1) {
      verdict.asks = true;
      verdict.answers = {"once", "twice"};
      verdict.detail["caution"] = quoted("perhaps-fed-twice");
    }
  } else if (!last.empty()) {
    verdict.outcome = "refused";
  }
  // An offer is closed by what names it, by a later offer, and by a later outcome that names no offer of its own.
  const auto has_own_offer = [&](Index i) {
    return std::any_of(offers.begin(), offers.end(), [&](Index offer) { return names(i, offer); });
  };
  const bool open = std::any_of(offers.begin(), offers.end(), [&](Index offer) {
    return std::none_of(members.begin(), members.end(), [&](Index j) {
      if (j == offer) return false;
      const bool may_close = kind(j) == Kind::offered || !has_own_offer(j);
      return names(j, offer) || (may_close && order(offer, j) < 0);
    });
  });
  if (open) {
    if (verdict.outcome.empty() || verdict.outcome == "refused") verdict.outcome = "offered";
    verdict.detail["offer"] = quoted("open");
  }
  if (verdict.outcome.empty()) verdict.outcome = "offered-lapsed";
  return verdict;
}

Verdict Fold::judge_shed(const std::vector<Index>& members) const {
  bool shed = false;
  bool stuck = false;
  for (const Index i : members) {
    if (log_[i].event.kind != Kind::shed) continue;
    shed = true;
    const bool cleared = std::any_of(members.begin(), members.end(),
                                     [&](Index j) { return log_[j].event.kind == Kind::cleared && order(i, j) < 0; });
    stuck = stuck || (log_[i].event.own.find("stuck") && !cleared);
  }
  Verdict verdict;
  verdict.outcome = !shed ? "cleared" : stuck ? "stuck" : "complete";
  return verdict;
}

Verdict Fold::judge_laying(const std::vector<Index>& members, bool late) const {
  struct Eggs {
    std::int64_t good = 0, slugs = 0;
    std::int64_t all() const { return good + slugs; }
  };
  Eggs most, more, together;
  std::set<std::int64_t> counts;
  std::size_t counted = 0;
  for (const Index i : members) {
    const Value& own = log_[i].event.own;
    const Eggs eggs{counted_in(own.number("good")), counted_in(own.number("slugs"))};
    const auto says = [&](Relation relation) {
      return std::any_of(members.begin(), members.end(), [&](Index j) { return names_as(i, j, relation); });
    };
    if (says(Relation::same)) continue;
    if (says(Relation::again)) {
      more = {more.good + eggs.good, more.slugs + eggs.slugs};
      continue;
    }
    ++counted;
    counts.insert(eggs.all());
    together = {together.good + eggs.good, together.slugs + eggs.slugs};
    if (std::pair(eggs.all(), eggs.slugs) > std::pair(most.all(), most.slugs)) most = eggs;
  }
  Verdict verdict{
      .outcome = "laid", .amount = most.all() + more.all(), .asks = counted > 1, .answers = {}, .detail = {}};
  verdict.detail["good"] = std::to_string(most.good + more.good);
  verdict.detail["slugs"] = std::to_string(most.slugs + more.slugs);
  if (counted > 1) {
    verdict.answers = {"recount", "more-eggs"};
    verdict.detail["counts"] = quoted(counts.size() > 1 ? "differ" : "agree");
    verdict.detail["together_good"] = std::to_string(together.good + more.good);
    verdict.detail["together_slugs"] = std::to_string(together.slugs + more.slugs);
  }
  if (late) verdict.detail["caution"] = quoted("eggs-late");
  return verdict;
}

/// All doses are believed given; what may be one dose told twice is a warning.
Verdict Fold::judge_dosing(const std::vector<Index>& members) const {
  std::vector<Index> doses;
  for (const Index i : members) {
    if (std::none_of(members.begin(), members.end(), [&](Index j) { return names_as(i, j, Relation::same); }))
      doses.push_back(i);
  }
  std::set<bool> known_apart;
  for (const Index i : doses) {
    for (const Index j : doses) {
      const std::string_view one = log_[i].event.own.text("with");
      const std::string_view other = log_[j].event.own.text("with");
      if (i != j && (one.empty() || other.empty() || one == other)) known_apart.insert(order(i, j) != 0);
    }
  }
  Verdict verdict{.outcome = "treated",
                  .amount = static_cast<std::int64_t>(doses.size()),
                  .asks = false,
                  .answers = {},
                  .detail = {}};
  if (!known_apart.empty())
    verdict.detail["caution"] = quoted(known_apart.contains(false) ? "perhaps-treated-twice" : "treated-twice");
  return verdict;
}

/// A numbered egg hatches once. Counts whose order is known add up; of those that may be of the same young, directly or
/// through others, the largest is believed.
Verdict Fold::judge_hatching(const std::vector<Index>& members) const {
  struct Young {
    std::vector<Index> told;
    std::int64_t count = 1;
    bool numbered = false;
    std::size_t set = 0;
  };
  std::vector<Young> all;
  std::map<std::int64_t, std::vector<Index>> eggs;
  for (const Index i : members) {
    if (std::any_of(members.begin(), members.end(), [&](Index j) { return names_as(i, j, Relation::same); })) continue;
    const std::int64_t egg = log_[i].event.own.number("egg");
    if (egg > 0) {
      eggs[egg].push_back(i);
    } else {
      all.push_back({{i}, counted_in(log_[i].event.own.number("count", 1)), false, 0});
    }
  }
  for (const auto& [number, told] : eggs) all.push_back({told, 1, true, 0});
  const auto doubtful = [&](Index a, Index b) { return order(a, b) == 0; };
  const auto may_be_one = [&](const Young& a, const Young& b) {
    if (a.numbered && b.numbered) return false;
    return std::any_of(a.told.begin(), a.told.end(), [&](Index i) {
      return std::any_of(b.told.begin(), b.told.end(), [&](Index j) { return doubtful(i, j); });
    });
  };
  for (std::size_t i = 0; i < all.size(); ++i) all[i].set = i;
  for (bool changed = true; changed;) {
    changed = false;
    for (Young& a : all) {
      for (const Young& b : all) {
        if (a.set <= b.set || !may_be_one(a, b)) continue;
        a.set = b.set;
        changed = true;
      }
    }
  }
  std::int64_t believed = 0;
  std::int64_t together = 0;
  for (std::size_t set = 0; set < all.size(); ++set) {
    std::int64_t numbered = 0;
    std::int64_t largest = 0;
    for (const Young& one : all) {
      if (one.set != set) continue;
      numbered += one.numbered;
      largest = std::max(largest, one.count);
      together += one.count;
      if (one.numbered) together += static_cast<std::int64_t>(one.told.size()) - tied_sets(one.told, doubtful);
    }
    believed += std::max(numbered, largest);
  }
  Verdict verdict{.outcome = "hatched", .amount = believed, .asks = together != believed, .answers = {}, .detail = {}};
  if (verdict.asks) {
    verdict.answers = {"told-twice", "more-young"};
    verdict.detail["together"] = std::to_string(together);
  }
  return verdict;
}

// ---- answers

Verdict Fold::apply(RuleId rule, Verdict verdict, const std::string& answer) const {
  if (rule == RuleId::feeding) {
    verdict.outcome = answer == "refused" ? "refused" : "ate";
    verdict.amount = answer == "refused" ? 0 : answer == "twice" ? 2 : 1;
    verdict.detail["caution"] = answer == "twice" ? quoted("fed-twice") : "null";
  } else if (rule == RuleId::laying) {
    if (answer != "more-eggs") return verdict;
    verdict.detail["good"] = verdict.detail["together_good"];
    verdict.detail["slugs"] = verdict.detail["together_slugs"];
    verdict.amount = std::stoll(verdict.detail["good"]) + std::stoll(verdict.detail["slugs"]);
  } else if (rule == RuleId::hatching) {
    if (answer == "more-young") verdict.amount = std::stoll(verdict.detail["together"]);
  } else {
    verdict.outcome = answer;
  }
  return verdict;
}

std::vector<Index> Fold::unanswered(const std::vector<Index>& settlements) const {
  std::vector<Index> out;
  for (const Index one : settlements) {
    if (std::none_of(settlements.begin(), settlements.end(), [&](Index other) { return names(other, one); }))
      out.push_back(one);
  }
  return out;
}

/// A settlement that names all live members holds; those that another of them names are left out; one answer settles,
/// two leave it open. Of those that name only some, the last by rank gives the belief, and the question stays.
Verdict Fold::settle(RuleId rule, const std::vector<Index>& members, Verdict verdict) const {
  if (!verdict.asks) return verdict;
  std::vector<Index> full;
  std::vector<Index> partial;
  for (Index i = 0; i < log_.size(); ++i) {
    const Event& event = log_[i].event;
    if (event.kind != Kind::settled || !is_read(i) || event.own.text("rule") != rule_of(rule).name) continue;
    std::size_t listed = 0;
    for (const auto& [named, relation] : log_[i].names)
      listed += std::find(members.begin(), members.end(), named) != members.end();
    if (listed == members.size()) {
      full.push_back(i);
    } else if (listed > 0) {
      partial.push_back(i);
    }
  }
  const auto answer_of = [&](Index i) { return std::string(log_[i].event.own.text("answer")); };
  const auto allowed = [&](const std::string& answer) {
    return std::find(verdict.answers.begin(), verdict.answers.end(), answer) != verdict.answers.end();
  };
  full = unanswered(full);
  partial = unanswered(partial);
  if (!full.empty()) {
    const std::string answer = answer_of(full.front());
    if (!std::all_of(full.begin(), full.end(), [&](Index i) { return answer_of(i) == answer; })) {
      verdict.detail["settled"] = quoted("differently");
    } else if (allowed(answer)) {
      verdict = apply(rule, verdict, answer);
      verdict.asks = false;
      verdict.detail["settled"] = write_compact(Value(answer));
    }
    return verdict;
  }
  if (partial.empty()) return verdict;
  const auto last =
      *std::max_element(partial.begin(), partial.end(), [&](Index a, Index b) { return ranks_below(a, b); });
  const std::string answer = answer_of(last);
  if (!allowed(answer)) return verdict;
  verdict = apply(rule, verdict, answer);
  verdict.detail["settled_before"] = write_compact(Value(answer));
  return verdict;
}

void Fold::matter(RuleId rule, const std::string& subject, Instant at, Index lead, const std::vector<Index>& members,
                  const Verdict& verdict) {
  MatterRowText row{.rule = rule, .subject = subject, .at = at, .lead = log_[lead].ref};
  row.outcome = verdict.outcome;
  row.amount = verdict.amount;
  row.asks = verdict.asks;
  row.answers = verdict.answers;
  for (const Index member : members) row.members.push_back(log_[member].ref);
  row.detail = verdict.detail;
  rows_.insert(text(row));
}

}  // namespace rackside::simulation::reference
