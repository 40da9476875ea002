#include "core/genetics/field.h"

#include <algorithm>
#include <bit>

namespace rackside::core::genetics {
namespace {

StateMask mask_of(const std::vector<double>& values) {
  StateMask out = 0;
  for (std::size_t i = 0; i < values.size(); ++i) out |= values[i] > 0 ? StateMask{1} << i : 0;
  return out;
}

bool speaks_of(const Statement& statement, std::uint16_t locus) {
  return std::any_of(statement.options.begin(), statement.options.end(),
                     [&](const Option& option) { return option.locus == locus; });
}

/// Of what is said of looks at loci not named: 0 nothing, 1 by someone who is sure, 2 by one who thinks so.
int level_of(const std::vector<const Statement*>& said) {
  int level = 0;
  for (const Statement* one : said) {
    if (one->says != Says::nothing_else || one->certainty == Certainty::cannot_tell) continue;
    const int this_one = one->certainty == Certainty::sure ? 1 : 2;
    level = level == 0 ? this_one : -1;  // said twice: no standard case
  }
  return level;
}

const std::vector<const Statement*> kNothing;

const std::vector<const Statement*>& said_of(const Said& said, const Pedigree::Node& node) {
  return node.animal == kNobody ? kNothing : said.of[node.animal];
}

}  // namespace

bool Said::either_or(const Statement& statement) {
  return statement.says != Says::unseen && statement.certainty != Certainty::cannot_tell &&
         std::any_of(statement.options.begin(), statement.options.end(),
                     [&](const Option& option) { return option.locus != statement.options.front().locus; });
}

std::vector<std::uint16_t> loci_of(const Statement& statement) {
  std::vector<std::uint16_t> out;
  for (const Option& option : statement.options) out.push_back(option.locus);
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

Field::Field(const Species& species, std::uint16_t locus, const Settings& settings)
    : species_(&species), locus_(locus), settings_(settings), states_(species.loci[locus], species.sexes) {}

std::uint32_t Field::keep(std::vector<double> values) {
  pool_.push_back({std::move(values), 0});
  pool_.back().mask = mask_of(pool_.back().values);
  return static_cast<std::uint32_t>(pool_.size() - 1);
}

/// The cases that nearly all animals share: born or founder, with nothing said, "nothing else" sure, or thought so.
void Field::begin_pool() {
  pool_.clear();
  for (bool founder : {false, true}) {
    const std::vector<double> before = founder
                                           ? founder_chances(*species_, locus_, states_, kNobody, {}, settings_, false)
                                           : std::vector<double>(states_.size(), 1);
    for (int level : {0, 1, 2}) {
      std::vector<double> values = before;
      if (level > 0) {
        const Statement normal{.says = Says::nothing_else,
                               .certainty = level == 1 ? Certainty::sure : Certainty::think_so};
        const auto factor = likelihood(*species_, locus_, states_, normal, {});
        for (std::size_t i = 0; i < values.size(); ++i) values[i] *= factor[i];
      }
      keep(std::move(values));
    }
  }
}

bool Field::is_special(const Pedigree& pedigree, const Said& said, NodeIndex node) const {
  const Pedigree::Node& one = pedigree.nodes[node];
  if (hidden_[node]) return true;
  if (one.animal == kNobody) {
    if (!one.founder()) return false;
    for (AnimalIndex young : pedigree.known_through(node)) {
      for (const Statement* statement : said.of[young]) {
        if (speaks_of(*statement, locus_)) return true;
      }
    }
    return false;
  }
  const auto& statements = said.of[one.animal];
  if (level_of(statements) < 0 || !hidden_looks(*species_, locus_, statements).empty()) return true;
  const auto speaks_here = [&](const Statement* s) { return speaks_of(*s, locus_); };
  if (std::any_of(statements.begin(), statements.end(), speaks_here)) return true;
  if (!one.founder() || pedigree.children[node].empty()) return false;
  const auto known = pedigree.known_through(node);
  return std::any_of(known.begin(), known.end(), [&](AnimalIndex animal) {
    return std::any_of(said.of[animal].begin(), said.of[animal].end(), speaks_here);
  });
}

std::vector<double> Field::evidence(const std::vector<const Statement*>& said, bool founder) const {
  std::vector<double> out(states_.size(), 1);
  const std::vector<std::uint8_t> hidden = hidden_looks(*species_, locus_, said);
  for (const Statement* one : said) {
    const bool elsewhere = one->says == Says::nothing_else;
    if (Said::either_or(*one) || !is_evidence(*one, founder) ||
        (elsewhere ? is_silent(*one, locus_, said) : !speaks_of(*one, locus_))) {
      continue;
    }
    if (one->says == Says::unseen && is_said_already(*one, locus_, said)) continue;
    std::vector<Option> here;
    std::copy_if(one->options.begin(), one->options.end(), std::back_inserter(here),
                 [&](const Option& option) { return option.locus == locus_; });
    const auto factor = likelihood(*species_, locus_, states_, *one, here, hidden);
    for (std::size_t i = 0; i < out.size(); ++i) out[i] *= factor[i];
  }
  return out;
}

void Field::report_exclusion(const Pedigree::Node& node, const std::vector<const Statement*>& said,
                             std::vector<Problem>& problems) const {
  Problem problem{Problem::Kind::excluding_statements, locus_, {node.animal}, {}};
  for (const Statement* one : said) {
    if (one->record && (speaks_of(*one, locus_) || one->says == Says::nothing_else))
      problem.records.push_back(one->record);
  }
  problems.push_back(std::move(problem));
}

/// What is believed of a founder before its look is weighed.
std::vector<double> Field::believed(NodeIndex node, AnimalIndex self, const std::vector<const Statement*>& known,
                                    const std::vector<const Statement*>& own) {
  Promises here;
  for (const Statement* one : own) {
    if (one->says == Says::possible && Said::either_or(*one) && is_evidence(*one, true) && speaks_of(*one, locus_))
      here.of.push_back(one);
  }
  if (here.of.empty()) return founder_chances(*species_, locus_, states_, self, known, settings_, hidden_[node]);
  std::vector<double> mean(states_.size());
  for (std::uint32_t set = 0; set < 1U << here.of.size(); ++set) {
    std::vector<const Statement*> left = known;
    double weight = 1;
    for (std::size_t i = 0; i < here.of.size(); ++i) {
      const double of_this_locus = 1 / static_cast<double>(loci_of(*here.of[i]).size());
      weight *= set >> i & 1 ? of_this_locus : 1 - of_this_locus;
      if (!(set >> i & 1)) std::erase(left, here.of[i]);
    }
    here.ratio.push_back(founder_chances(*species_, locus_, states_, self, left, settings_, hidden_[node]));
    for (std::size_t i = 0; i < mean.size(); ++i) mean[i] += weight * here.ratio.back()[i];
  }
  for (auto& one : here.ratio) {
    // Where the promises fit nothing else the field leaves them out.
    for (std::size_t i = 0; i < mean.size(); ++i) one[i] = mean[i] > 0 ? one[i] / mean[i] : 1;
  }
  promises_[node] = std::move(here);
  return mean;
}

void Field::weigh_one(const Pedigree& pedigree, const Said& said, NodeIndex node, std::vector<Problem>& problems) {
  const Pedigree::Node& one = pedigree.nodes[node];
  const auto& own = said_of(said, one);
  std::vector<double> values = evidence(own, one.founder());
  const StateMask possible = mask_of(values) & states_.of_sex(one.sex) & states_.viable();
  if (possible == 0) {
    report_exclusion(one, own, problems);
    values.assign(states_.size(), 1);
  }
  if (one.founder()) {
    std::vector<const Statement*> known;
    for (AnimalIndex animal : pedigree.known_through(node)) {
      for (const Statement* statement : said.of[animal]) {
        // What is promised of a young says nothing of its parent.
        if (animal == one.animal || statement->says != Says::possible) known.push_back(statement);
      }
    }
    const std::vector<double> before = believed(node, one.animal, known, own);
    const bool fits = (mask_of(before) & mask_of(values) & states_.of_sex(one.sex)) != 0;
    const bool promised = std::any_of(own.begin(), own.end(), [&](const Statement* statement) {
      return statement->says == Says::possible && speaks_of(*statement, locus_);
    });
    if (!fits && promised) report_exclusion(one, own, problems);
    if (fits || !promised) {
      for (std::size_t i = 0; i < values.size(); ++i) values[i] *= before[i];
    }
  }
  own_[node] = keep(std::move(values));
}

void Field::weigh(const Pedigree& pedigree, const Said& said, NodeIndex first, std::vector<Problem>& problems) {
  const auto count = static_cast<NodeIndex>(pedigree.nodes.size());
  own_.resize(count);
  domain_.resize(count);
  excluded_.resize(count);
  hidden_.resize(count);
  queued_.resize(count);
  for (NodeIndex node = first; node < count; ++node) {
    if (is_special(pedigree, said, node)) {
      weigh_one(pedigree, said, node, problems);
    } else {
      own_[node] = standard(pedigree.nodes[node].founder(), level_of(said_of(said, pedigree.nodes[node])));
    }
  }
}

StateMask Field::reach(StateMask sires, StateMask dams) const {
  StateMask out = 0;
  for (StateMask s = sires; s; s &= s - 1) {
    for (StateMask d = dams; d; d &= d - 1) {
      out |=
          states_.reach(static_cast<std::size_t>(std::countr_zero(s)), static_cast<std::size_t>(std::countr_zero(d)));
    }
  }
  return out;
}

bool Field::family_counts(const Pedigree& pedigree, NodeIndex node) const {
  const Pedigree::Node& one = pedigree.nodes[node];
  return one.sire != kNoNode && !excluded_[node] && !excluded_[one.sire] && !excluded_[one.dam];
}

/// What the parents allow.
StateMask Field::from_above(const Pedigree& pedigree, NodeIndex node) const {
  const Pedigree::Node& one = pedigree.nodes[node];
  if (one.choice != kNoSiring) {
    StateMask out = 0;
    for (NodeIndex sire : pedigree.candidates[one.choice]) out |= excluded_[sire] ? states_.all() : domain_[sire];
    return out;
  }
  return family_counts(pedigree, node) ? reach(domain_[one.sire], domain_[one.dam]) : states_.all();
}

void Field::place(const Pedigree& pedigree, NodeIndex node) {
  StateMask own = pool_[own_[node]].mask;
  if (excluded_[node]) own = states_.all();
  domain_[node] = from_above(pedigree, node) & own & states_.viable() & states_.of_sex(pedigree.nodes[node].sex);
  if (!domain_[node] && conflict_ == kNoNode) conflict_ = node;
}

void Field::touch(const Pedigree& pedigree, NodeIndex node) {
  const auto enqueue = [&](NodeIndex family) {
    if (queued_[family]) return;
    queued_[family] = 1;
    queue_.push_back(family);
  };
  enqueue(node);
  for (NodeIndex child : pedigree.children[node]) enqueue(child);
}

bool Field::narrow(const Pedigree& pedigree, NodeIndex node, StateMask to) {
  const StateMask now = domain_[node] & to;
  if (now == domain_[node]) return true;
  domain_[node] = now;
  changed_.push_back(node);
  if (!now) return false;
  touch(pedigree, node);
  return true;
}

/// Rules out what fits nothing in the family: of the young, of the sire and of the dam.
bool Field::revise(const Pedigree& pedigree, NodeIndex node) {
  const Pedigree::Node& one = pedigree.nodes[node];
  if (one.choice != kNoSiring) return narrow(pedigree, node, from_above(pedigree, node));
  if (!family_counts(pedigree, node)) return true;
  StateMask young = 0;
  StateMask sires = 0;
  StateMask dams = 0;
  for (StateMask s = domain_[one.sire]; s; s &= s - 1) {
    for (StateMask d = domain_[one.dam]; d; d &= d - 1) {
      const auto sire = static_cast<std::size_t>(std::countr_zero(s));
      const auto dam = static_cast<std::size_t>(std::countr_zero(d));
      const StateMask here = states_.reach(sire, dam) & domain_[node];
      if (!here) continue;
      young |= here;
      sires |= StateMask{1} << sire;
      dams |= StateMask{1} << dam;
    }
  }
  return narrow(pedigree, node, young) && narrow(pedigree, one.sire, sires) && narrow(pedigree, one.dam, dams);
}

bool Field::settle(const Pedigree& pedigree) {
  bool fits = true;
  while (!queue_.empty()) {
    const NodeIndex node = queue_.back();
    queue_.pop_back();
    queued_[node] = 0;
    if (fits && !revise(pedigree, node)) {
      fits = false;
      conflict_ = node;
    }
  }
  return fits;
}

bool Field::compute(const Pedigree& pedigree) {
  conflict_ = kNoNode;
  changed_.clear();
  for (NodeIndex node = 0; node < pedigree.nodes.size(); ++node) place(pedigree, node);
  if (conflict_ != kNoNode) return false;
  for (NodeIndex node = 0; node < pedigree.nodes.size(); ++node) {
    const Pedigree::Node& one = pedigree.nodes[node];
    const bool matters = one.choice != kNoSiring || (one.sire != kNoNode && (open(one.sire) || open(one.dam)));
    if (!matters || queued_[node]) continue;
    queued_[node] = 1;
    queue_.push_back(node);
  }
  return settle(pedigree);
}

bool Field::suspect_founders(const Pedigree& pedigree, const Said& said, const std::vector<NodeIndex>& members,
                             std::vector<Problem>& problems) {
  std::vector<NodeIndex> open(members);
  std::set<NodeIndex> seen(members.begin(), members.end());
  Problem problem{Problem::Kind::hidden_carrier, locus_, {}, {}};
  bool any = false;
  while (!open.empty()) {
    const NodeIndex at = open.back();
    open.pop_back();
    const Pedigree::Node& one = pedigree.nodes[at];
    if (one.founder() && !hidden_[at]) {
      hidden_[at] = 1;
      const StateMask known_of = pool_[own_[at]].mask;
      std::vector<Problem> known_already;
      weigh_one(pedigree, said, at, known_already);
      // Of whom it was known that it may carry all that there is, it explains nothing.
      const bool more = (pool_[own_[at]].mask & ~known_of) != 0;
      any |= more;
      if (more && one.animal != kNobody) problem.animals.push_back(one.animal);
    }
    std::vector<NodeIndex> above;
    if (one.choice != kNoSiring) above = pedigree.candidates[one.choice];
    if (one.sire != kNoNode) above = {one.sire, one.dam};
    for (NodeIndex parent : above) {
      if (seen.insert(parent).second) open.push_back(parent);
    }
  }
  if (any) problems.push_back(std::move(problem));
  return any;
}

void Field::exclude(const Pedigree& pedigree, const Said& said, const std::vector<NodeIndex>& members,
                    std::vector<Problem>& problems) {
  Problem problem{Problem::Kind::impossible_family, locus_, {}, {}};
  for (NodeIndex node : members) {
    excluded_[node] = 1;
    const Pedigree::Node& one = pedigree.nodes[node];
    if (one.animal == kNobody) continue;
    problem.animals.push_back(one.animal);
    for (const Statement* statement : said.of[one.animal]) {
      const bool here = speaks_of(*statement, locus_) || statement->says == Says::nothing_else;
      if (here && statement->record) problem.records.push_back(statement->record);
    }
  }
  problems.push_back(std::move(problem));
  exclude_young(pedigree, 0);
}

/// Of whom a parent has no answer nothing is known beforehand either, so it has none; but for those of whom what is
/// said of themselves leaves one genotype.
void Field::exclude_young(const Pedigree& pedigree, NodeIndex first) {
  const auto has_none = [&](NodeIndex node) { return node != kNoNode && excluded_[node] != 0; };
  for (NodeIndex node = first; node < pedigree.nodes.size(); ++node) {
    const Pedigree::Node& one = pedigree.nodes[node];
    bool parent = has_none(one.sire) || has_none(one.dam);
    if (one.choice != kNoSiring) {
      const auto& all = pedigree.candidates[one.choice];
      parent = std::any_of(all.begin(), all.end(), has_none);
    }
    const StateMask own = pool_[own_[node]].mask & states_.of_sex(one.sex) & states_.viable();
    if (parent && (own & (own - 1)) != 0) excluded_[node] = 1;
  }
}

/// Until what is left fits together: first with founders that may carry unknown to all, then without the family in
/// which it fails.
void Field::repair(const Pedigree& pedigree, const Said& said, std::vector<Problem>& problems) {
  while (!compute(pedigree)) {
    std::vector<NodeIndex> family{conflict_};
    const Pedigree::Node& one = pedigree.nodes[conflict_];
    if (one.sire != kNoNode) family.insert(family.end(), {one.sire, one.dam});
    if (one.choice != kNoSiring) {
      family.insert(family.end(), pedigree.candidates[one.choice].begin(), pedigree.candidates[one.choice].end());
    }
    if (suspect_founders(pedigree, said, family, problems)) continue;
    exclude(pedigree, said, family, problems);
  }
  changed_.clear();
}

void Field::load(const Pedigree& pedigree, const Said& said, std::vector<Problem>& problems) {
  own_.clear();
  domain_.clear();
  excluded_.clear();
  hidden_.clear();
  queued_.clear();
  promises_.clear();
  begin_pool();
  weigh(pedigree, said, 0, problems);
  repair(pedigree, said, problems);
}

void Field::explain(const Pedigree& pedigree, const Said& said, const std::vector<NodeIndex>& members,
                    std::vector<Problem>& problems) {
  if (suspect_founders(pedigree, said, members, problems)) {
    repair(pedigree, said, problems);
  } else {
    exclude(pedigree, said, members, problems);
  }
}

std::optional<std::vector<NodeIndex>> Field::extend(const Pedigree& pedigree, const Said& said, NodeIndex first,
                                                    const std::vector<NodeIndex>& spoken_of,
                                                    std::vector<Problem>& problems) {
  changed_.clear();
  weigh(pedigree, said, first, problems);
  std::vector<NodeIndex> touched;
  bool fits = true;
  exclude_young(pedigree, first);
  const auto has_none = [&](NodeIndex node) { return excluded_[node] != 0; };
  if (std::any_of(spoken_of.begin(), spoken_of.end(), has_none)) {
    load(pedigree, said, problems);
    return std::nullopt;
  }
  for (NodeIndex node : spoken_of) {
    const bool special = is_special(pedigree, said, node);
    const std::uint32_t usual =
        standard(pedigree.nodes[node].founder(), std::max(0, level_of(said_of(said, pedigree.nodes[node]))));
    if (!special && own_[node] == usual) continue;
    if (pedigree.nodes[node].founder()) {
      load(pedigree, said, problems);
      return std::nullopt;
    }
    if (special) {
      weigh_one(pedigree, said, node, problems);
    } else {
      own_[node] = usual;
    }
    touched.push_back(node);
    fits = fits && narrow(pedigree, node, pool_[own_[node]].mask);
  }
  conflict_ = kNoNode;
  for (auto node = first; node < pedigree.nodes.size(); ++node) {
    place(pedigree, node);
    touch(pedigree, node);
    const Pedigree::Node& one = pedigree.nodes[node];
    touched.push_back(node);
    if (one.sire != kNoNode) touched.insert(touched.end(), {one.sire, one.dam});
  }
  fits = settle(pedigree) && fits && conflict_ == kNoNode;
  if (!fits) {
    load(pedigree, said, problems);
    return std::nullopt;
  }
  touched.insert(touched.end(), changed_.begin(), changed_.end());
  return touched;
}

}  // namespace rackside::core::genetics
