#include "core/genetics/component.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <limits>

namespace rackside::core::genetics {
namespace {

/// Calls for each state of the mask with its number among them.
template <typename Do>
void each(StateMask mask, Do&& act) {
  for (std::uint32_t i = 0; mask; ++i, mask &= mask - 1) act(static_cast<std::size_t>(std::countr_zero(mask)), i);
}

std::uint32_t count(StateMask mask) {
  return static_cast<std::uint32_t>(std::popcount(mask));
}
std::uint32_t rank(StateMask mask, std::size_t state) {
  return count(mask & ((StateMask{1} << state) - 1));
}

constexpr std::uint32_t kCertain = 0xffffffff;

}  // namespace

Component::Component(const Pedigree& pedigree, std::vector<Field>& fields, const std::vector<Shared>& shared,
                     const std::map<NodeIndex, std::vector<SharedIndex>>& shared_of, const Litters& litters)
    : pedigree_(pedigree), fields_(fields), shared_(shared), shared_of_(shared_of), litters_(litters) {}

void Component::forget() {
  ++sweep_;
  for (auto* table : {&seen_, &local_, &emitted_}) {
    table->resize(fields_.size());
    for (auto& row : *table) row.resize(pedigree_.nodes.size());
  }
  emitted_litter_.resize(fields_.size());
  for (auto& row : emitted_litter_) row.resize(litters_.all.size());
  seen_shared_.resize(shared_.size());
  local_shared_.resize(shared_.size());
}

bool Component::seen(std::uint16_t locus, NodeIndex node) const {
  return seen_[locus][node] == sweep_;
}

bool Component::once(std::vector<std::uint32_t>& stamps, std::size_t at) {
  if (stamps[at] == sweep_) return false;
  stamps[at] = sweep_;
  return true;
}

std::uint32_t Component::visit(std::uint16_t locus, NodeIndex node) {
  if (once(seen_[locus], node)) {
    variables_.push_back({locus, node});
    local_[locus][node] = network_.add_variable(count(fields_[locus].domain(node)));
  }
  return local_[locus][node];
}

/// The local variable of a genotype, or kCertain.
std::uint32_t Component::slot(std::uint16_t locus, NodeIndex node) {
  return fields_[locus].open(node) ? visit(locus, node) : kCertain;
}

std::uint32_t Component::visit_shared(SharedIndex index) {
  if (once(seen_shared_, index)) {
    variables_.push_back({Variable::kShared, index});
    const auto size = static_cast<std::uint32_t>(shared_[index].before.size());
    local_shared_[index] = network_.add_variable(size);
    const auto fixed = fixed_.find(index);
    const std::array over{local_shared_[index]};
    auto table = network_.add_factor(over);
    for (std::uint32_t i = 0; i < size; ++i) {
      table[i] = fixed == fixed_.end() || fixed->second == i ? shared_[index].before[i] : 0;
    }
  }
  return local_shared_[index];
}

void Component::gather(const std::vector<Variable>& seeds, const std::map<SharedIndex, std::uint32_t>& fixed) {
  fixed_ = fixed;
  variables_.clear();
  broods_.clear();
  network_.clear();
  single_.clear();
  promised_.clear();
  for (const Variable& seed : seeds) {
    if (seed.locus != Variable::kShared && litters_.of_young[seed.index] != Litters::kNone &&
        std::find(single_.begin(), single_.end(), seed.index) == single_.end()) {
      single_.push_back(seed.index);
    }
  }
  for (const Variable& seed : seeds) {
    if (seed.locus == Variable::kShared) {
      visit_shared(seed.index);
    } else if (fields_[seed.locus].open(seed.index)) {
      visit(seed.locus, seed.index);
    }
  }
  for (std::size_t at = 0; at < variables_.size(); ++at) {
    const Variable variable = variables_[at];
    if (variable.locus == Variable::kShared) {
      expand_shared(variable.index);
    } else {
      expand(variable);
    }
  }
}

std::vector<SharedIndex> Component::shared_variables() const {
  std::vector<SharedIndex> out;
  for (const Variable& variable : variables_) {
    if (variable.locus == Variable::kShared) out.push_back(variable.index);
  }
  return out;
}

/// All factors that a genotype is part of, each once; their other variables join the component.
void Component::expand(const Variable& variable) {
  const std::uint16_t locus = variable.locus;
  const NodeIndex node = variable.index;
  const auto emit = [&](NodeIndex one) {
    if (!once(emitted_[locus], one)) return;
    if (pedigree_.nodes[one].choice != kNoSiring) {
      emit_choice(locus, one);
    } else {
      emit_family(locus, one);
    }
  };
  emit(node);
  for (NodeIndex child : pedigree_.children[node]) {
    if (litters_.of_young[child] == Litters::kNone) emit(child);
  }
  for (std::uint32_t litter : litters_.of_parent[node]) {
    if (once(emitted_litter_[locus], litter)) emit_litter(locus, litter);
  }
  const auto found = shared_of_.find(node);
  if (found == shared_of_.end()) return;
  for (SharedIndex index : found->second) {
    const Shared& one = shared_[index];
    const bool here = std::find(one.loci.begin(), one.loci.end(), locus) != one.loci.end();
    if (here && (one.kind == Shared::Kind::look || (one.kind == Shared::Kind::sex && sex_ties(one)))) {
      visit_shared(index);
    }
  }
}

void Component::expand_shared(SharedIndex index) {
  const Shared& one = shared_[index];
  switch (one.kind) {
    case Shared::Kind::siring:
      for (std::uint16_t locus = 0; locus < fields_.size(); ++locus) {
        if (choice_matters(locus, one.node) && once(emitted_[locus], one.node)) emit_choice(locus, one.node);
      }
      break;
    case Shared::Kind::sex:
      for (std::uint16_t locus : one.loci) {
        if (sex_ties(one) && !fields_[locus].excluded(one.node)) emit_sex(locus, index);
      }
      break;
    case Shared::Kind::look:
      for (std::size_t i = 0; i < one.loci.size(); ++i) {
        if (one.statement->says == Says::possible) {
          emit_promises(one.loci[i], one.node);
        } else {
          emit_look(index, i);
        }
      }
      break;
  }
}

void Component::emit_own(std::uint16_t locus, NodeIndex node) {
  const Field& field = fields_[locus];
  if (field.excluded(node) || !field.open(node)) return;
  const std::array over{visit(locus, node)};
  auto table = network_.add_factor(over);
  each(field.domain(node), [&](std::size_t state, std::uint32_t i) { table[i] = field.weights(node)[state]; });
}

bool Component::in_brood(std::uint16_t locus, NodeIndex young) const {
  const Field& field = fields_[locus];
  if (field.excluded(young)) return false;
  return !field.open(young) || std::find(single_.begin(), single_.end(), young) == single_.end();
}

const std::vector<Component::Alike>& Component::alike(std::uint16_t locus, std::uint32_t litter) {
  const Field& field = fields_[locus];
  alike_.clear();
  for (NodeIndex young : litters_.all[litter].young) {
    if (!in_brood(locus, young)) continue;
    const std::uint32_t weights = field.weights_index(young);
    const StateMask domain = field.domain(young);
    auto known = std::find_if(alike_.begin(), alike_.end(),
                              [&](const Alike& one) { return one.weights == weights && one.domain == domain; });
    if (known == alike_.end()) known = alike_.insert(known, {young, weights, domain, 0});
    ++known->count;
  }
  return alike_;
}

double Component::likelihood(const Field& field, const Alike& young, std::size_t sire, std::size_t dam) {
  const auto& weights = field.weights(young.first);
  double out = 0;
  for (const States::Child& child : field.states().young(sire, dam)) {
    if (young.domain >> child.state & 1) out += child.chance * weights[child.state];
  }
  return out;
}

/// What all of a litter say of their parents. Where they say the same of each state of the only uncertain parent,
/// nothing.
void Component::emit_litter(std::uint16_t locus, std::uint32_t litter) {
  const Field& field = fields_[locus];
  const Litters::Litter& one = litters_.all[litter];
  if (field.excluded(one.sire) || field.excluded(one.dam)) return;
  const auto& young = alike(locus, litter);
  if (young.empty()) return;
  std::array<std::uint32_t, 2> over{};
  std::size_t width = 0;
  for (NodeIndex parent : {one.sire, one.dam}) {
    if (field.open(parent)) over[width++] = visit(locus, parent);
  }
  broods_.push_back({locus, litter});
  logs_.clear();
  double most = -std::numeric_limits<double>::infinity();
  double least = std::numeric_limits<double>::infinity();
  each(field.domain(one.sire), [&](std::size_t s, std::uint32_t) {
    each(field.domain(one.dam), [&](std::size_t d, std::uint32_t) {
      double sum = 0;
      for (const Alike& kind : young) sum += kind.count * std::log(likelihood(field, kind, s, d));
      logs_.push_back(sum);
      most = std::max(most, sum);
      least = std::min(least, sum);
    });
  });
  if (!std::isfinite(most)) most = 0;
  network_.log_scale += most;
  if (width == 1 && least == most) return;
  auto table = network_.add_factor({over.data(), width});
  for (std::size_t i = 0; i < logs_.size(); ++i) table[i] = std::exp(logs_[i] - most);
}

void Component::emit_family(std::uint16_t locus, NodeIndex node) {
  const Field& field = fields_[locus];
  if (!field.family_counts(pedigree_, node)) return emit_own(locus, node);
  const Pedigree::Node& one = pedigree_.nodes[node];
  const std::uint32_t sire = slot(locus, one.sire);
  const std::uint32_t dam = slot(locus, one.dam);
  const std::uint32_t young = slot(locus, node);
  std::array<std::uint32_t, 3> over{};
  std::size_t width = 0;
  for (std::uint32_t local : {sire, dam, young}) {
    if (local != kCertain) over[width++] = local;
  }
  if (width == 0) return;
  auto table = network_.add_factor({over.data(), width});
  const auto& weights = field.weights(node);
  const StateMask own = field.domain(node);
  const std::uint32_t row = young == kCertain ? 1 : count(own);
  const std::uint32_t rows = dam == kCertain ? 1 : count(field.domain(one.dam));
  each(field.domain(one.sire), [&](std::size_t s, std::uint32_t i) {
    each(field.domain(one.dam), [&](std::size_t d, std::uint32_t j) {
      for (const States::Child& child : field.states().young(s, d)) {
        if (!(own >> child.state & 1)) continue;
        table[(i * rows + j) * row + rank(own, child.state)] += child.chance * weights[child.state];
      }
    });
  });
}

/// Where all possible sires are certainly alike the locus says nothing of which it was.
bool Component::choice_matters(std::uint16_t locus, NodeIndex node) const {
  const Field& field = fields_[locus];
  if (field.excluded(node)) return false;
  if (field.open(node)) return true;
  const auto& all = pedigree_.candidates[pedigree_.nodes[node].choice];
  return std::any_of(all.begin(), all.end(),
                     [&](NodeIndex sire) { return !field.excluded(sire) && field.domain(sire) != field.domain(node); });
}

void Component::emit_choice(std::uint16_t locus, NodeIndex node) {
  if (!choice_matters(locus, node)) return;
  const auto& all = pedigree_.candidates[pedigree_.nodes[node].choice];
  for (std::uint32_t i = 0; i < all.size(); ++i) emit_candidate(locus, node, i);
}

/// If it was this one, the true sire's genotype is his; else he has no say.
void Component::emit_candidate(std::uint16_t locus, NodeIndex node, std::uint32_t place) {
  const Field& field = fields_[locus];
  const NodeIndex candidate = pedigree_.candidates[pedigree_.nodes[node].choice][place];
  if (field.excluded(candidate)) return;
  SharedIndex index = 0;
  for (SharedIndex one : shared_of_.at(node)) index = one;
  const std::uint32_t choice = visit_shared(index);
  const std::uint32_t his = slot(locus, candidate);
  const std::uint32_t truth = slot(locus, node);
  std::array<std::uint32_t, 3> over{choice};
  std::size_t width = 1;
  for (std::uint32_t local : {his, truth}) {
    if (local != kCertain) over[width++] = local;
  }
  auto table = network_.add_factor({over.data(), width}, 1);
  const std::uint32_t truths = count(field.domain(node));
  const std::uint32_t block = count(field.domain(candidate)) * truths;
  each(field.domain(candidate), [&](std::size_t s, std::uint32_t i) {
    each(field.domain(node),
         [&](std::size_t t, std::uint32_t j) { table[place * block + i * truths + j] = s == t ? 1 : 0; });
  });
}

/// An unsexed animal's sex matters to all sex-linked loci at once, unless it is as likely either way at each of them.
bool Component::sex_ties(const Shared& shared) const {
  return std::any_of(shared.loci.begin(), shared.loci.end(),
                     [&](std::uint16_t locus) { return tells_sex(locus, shared.node); });
}

bool Component::tells_sex(std::uint16_t locus, NodeIndex node) const {
  const Field& field = fields_[locus];
  const Pedigree::Node& one = pedigree_.nodes[node];
  if (field.excluded(node)) return false;
  const StateMask wild = field.states().wild();
  const auto plain = [&](NodeIndex at) { return at == kNoNode || (field.domain(at) & ~wild) == 0; };
  if (!plain(node) || !plain(one.sire) || !plain(one.dam) || field.domain(node) != wild) return true;
  double least = 1;
  double most = 0;
  each(wild, [&](std::size_t state, std::uint32_t) {
    least = std::min(least, field.weights(node)[state]);
    most = std::max(most, field.weights(node)[state]);
  });
  return least != most;
}

void Component::emit_sex(std::uint16_t locus, SharedIndex index) {
  const NodeIndex node = shared_[index].node;
  const Field& field = fields_[locus];
  const std::uint32_t own = slot(locus, node);
  const std::uint32_t sex = local_shared_[index];
  std::array<std::uint32_t, 2> over{sex, own};
  auto table = network_.add_factor({over.data(), own == kCertain ? std::size_t{1} : std::size_t{2}});
  const std::uint32_t size = count(field.domain(node));
  each(field.domain(node),
       [&](std::size_t state, std::uint32_t i) { table[(field.states()[state].sex == Sex::male ? 0 : size) + i] = 1; });
}

void Component::emit_look(SharedIndex index, std::size_t place) {
  const Shared& one = shared_[index];
  const std::uint16_t locus = one.loci[place];
  const Field& field = fields_[locus];
  if (field.excluded(one.node)) return;
  const std::uint32_t own = slot(locus, one.node);
  std::array<std::uint32_t, 2> over{local_shared_[index], own};
  auto table = network_.add_factor({over.data(), own == kCertain ? std::size_t{1} : std::size_t{2}});
  const std::uint32_t size = count(field.domain(one.node));
  std::uint32_t first = 0;
  for (const std::vector<double>& says : one.either.says[place]) {
    each(field.domain(one.node), [&](std::size_t state, std::uint32_t i) { table[first + i] = says[state]; });
    first += size;
  }
}

/// What is believed beforehand of the founder, by which promises are of this locus.
void Component::emit_promises(std::uint16_t locus, NodeIndex node) {
  const Field& field = fields_[locus];
  const Promises* promises = field.promises(node);
  if (field.excluded(node) || promises == nullptr || !promised_.emplace(locus, node).second) return;
  std::vector<std::uint32_t> over;
  std::vector<const Shared*> choices;
  for (SharedIndex index : shared_of_.at(node)) {
    const Shared& one = shared_[index];
    const bool here = one.kind == Shared::Kind::look && one.statement->says == Says::possible &&
                      std::find(one.loci.begin(), one.loci.end(), locus) != one.loci.end();
    if (!here) continue;
    choices.push_back(&one);
    over.push_back(visit_shared(index));
  }
  const std::uint32_t own = slot(locus, node);
  if (own != kCertain) over.push_back(own);
  auto table = network_.add_factor(over);
  const std::uint32_t size = count(field.domain(node));
  for (std::size_t row = 0; row < table.size() / size; ++row) {
    std::size_t set = 0;
    std::size_t left = row;
    for (std::size_t i = choices.size(); i-- > 0; left /= choices[i]->loci.size()) {
      if (choices[i]->loci[left % choices[i]->loci.size()] == locus) set |= std::size_t{1} << i;
    }
    each(field.domain(node),
         [&](std::size_t state, std::uint32_t i) { table[row * size + i] = promises->ratio[set][state]; });
  }
}

}  // namespace rackside::core::genetics
