#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <limits>

#include "core/genetics/inference_work.h"

namespace rackside::core::genetics {

/// A young of a litter comes with its parents.
bool Inference::Work::stands_alone(std::uint16_t locus, NodeIndex young) const {
  const Pedigree::Node& one = pedigree_.nodes[young];
  const Field& field = fields_[locus];
  return !field.family_counts(pedigree_, young) || (!field.open(one.sire) && !field.open(one.dam));
}

void Inference::Work::solve_node(std::uint16_t locus, NodeIndex node) {
  if (node == kNoNode || !fields_[locus].open(node)) return;
  if (litters_.of_young[node] == Litters::kNone) {
    if (!is_held(locus, node) && !component_->seen(locus, node)) solve_from({locus, node});
  } else if (stands_alone(locus, node)) {
    settle_alone(locus, node);
  } else {
    solve_node(locus, pedigree_.nodes[node].sire);
    solve_node(locus, pedigree_.nodes[node].dam);
  }
}

void Inference::Work::solve_locus(std::uint16_t locus) {
  for (NodeIndex node = 0; node < pedigree_.nodes.size(); ++node) solve_node(locus, node);
}

/// Both parents are certain, or say nothing: its chances follow from its own evidence.
void Inference::Work::settle_alone(std::uint16_t locus, NodeIndex young) {
  const Field& field = fields_[locus];
  if (field.excluded(young)) return;
  const auto& weights = field.weights(young);
  std::vector<double> chances(field.states().size());
  if (field.family_counts(pedigree_, young)) {
    const Pedigree::Node& one = pedigree_.nodes[young];
    const auto sire = static_cast<std::size_t>(std::countr_zero(field.domain(one.sire)));
    const auto dam = static_cast<std::size_t>(std::countr_zero(field.domain(one.dam)));
    for (const States::Child& child : field.states().young(sire, dam))
      chances[child.state] = child.chance * weights[child.state];
  } else {
    std::copy(weights.begin(), weights.end(), chances.begin());
  }
  std::vector<double> open;
  double all = 0;
  for (StateMask left = field.domain(young); left; left &= left - 1) {
    open.push_back(chances[static_cast<std::size_t>(std::countr_zero(left))]);
    all += open.back();
  }
  for (double& one : open) one /= all;
  log_likelihood_ += std::log(all);
  ++effort_.alone;
  store_one({locus, young}, open, 0);
}

/// One that touches certain genotypes only is reached from none of them.
void Inference::Work::solve_shared(SharedIndex index) {
  const bool held = std::any_of(held_.begin(), held_.end(),
                                [&](std::uint32_t draws) { return draws_[draws]->has_choice(shared_[index].node); });
  if (!held && shared_[index].kind != Shared::Kind::sex && !component_->seen(index))
    solve_from({Variable::kShared, index});
}

void Inference::Work::solve_shared_of(NodeIndex node) {
  const auto found = shared_of_.find(node);
  if (found == shared_of_.end()) return;
  for (SharedIndex index : found->second) solve_shared(index);
}

void Inference::Work::solve_again() {
  while (!again_.empty()) {
    const std::uint16_t locus = again_.back();
    again_.pop_back();
    component_->forget();
    solve_locus(locus);
  }
}

void Inference::Work::solve_from(const Variable& seed) {
  component_->gather({seed});
  const Network& network = component_->network();
  ++effort_.components;
  effort_.variables += network.sizes.size();
  if (!elimination_.plan(network)) {
    if (settings_.sweeps == 0 || !estimate()) give_up();
    return;
  }
  effort_.largest_table = std::max(effort_.largest_table, elimination_.largest_table());
  if (elimination_.solve(network) == Elimination::Outcome::solved) {
    log_likelihood_ += elimination_.log_sum();
    flat_.clear();
    read_out(elimination_, flat_);
    store(flat_, nullptr);
    return;
  }
  log_likelihood_ = -std::numeric_limits<double>::infinity();
  std::map<std::uint16_t, std::vector<NodeIndex>> members;
  for (const Component::Brood& brood : component_->broods()) {
    auto& of_locus = members[brood.locus];
    const auto& young = litters_.all[brood.litter].young;
    std::copy_if(young.begin(), young.end(), std::back_inserter(of_locus),
                 [&](NodeIndex one) { return component_->in_brood(brood.locus, one); });
  }
  for (const Variable& variable : component_->variables()) {
    if (variable.locus != Variable::kShared) {
      members[variable.locus].push_back(variable.index);
      continue;
    }
    // What a shared variable is about may be certain, and so no variable here.
    const Shared& shared = shared_[variable.index];
    for (const Field& field : fields_) {
      const bool here = shared.kind == Shared::Kind::siring ||
                        std::find(shared.loci.begin(), shared.loci.end(), field.locus()) != shared.loci.end();
      if (here && !field.excluded(shared.node)) members[field.locus()].push_back(shared.node);
    }
  }
  for (const auto& [locus, nodes] : members) {
    fields_[locus].explain(pedigree_, said_, nodes, problems_);
    again_.push_back(locus);
  }
}

/// The chances of all variables and of all kinds of young in litters, one after the other, each over its domain.
void Inference::Work::read_out(const Elimination& solved, std::vector<double>& out) {
  for (std::uint32_t i = 0; i < component_->variables().size(); ++i) {
    const auto chances = solved.chances(i);
    out.insert(out.end(), chances.begin(), chances.end());
  }
  for (const Component::Brood& brood : component_->broods()) read_brood(solved, brood, out);
}

/// Given the parents the young depend on nothing else.
void Inference::Work::read_brood(const Elimination& solved, const Component::Brood& brood, std::vector<double>& out) {
  const Field& field = fields_[brood.locus];
  const Litters::Litter& litter = litters_.all[brood.litter];
  std::array<std::uint32_t, 2> over{};
  std::size_t width = 0;
  for (NodeIndex parent : {litter.sire, litter.dam}) {
    if (field.open(parent)) over[width++] = component_->local(brood.locus, parent);
  }
  solved.joint_of({over.data(), width}, pair_);
  for (const Component::Alike& kind : component_->alike(brood.locus, brood.litter)) {
    const std::size_t first = out.size();
    out.resize(first + static_cast<std::size_t>(std::popcount(kind.domain)));
    std::size_t at = 0;
    const auto& weights = field.weights(kind.first);
    for (StateMask s = field.domain(litter.sire); s; s &= s - 1) {
      for (StateMask d = field.domain(litter.dam); d; d &= d - 1) {
        const double both = pair_[at++];
        if (both <= 0) continue;
        const auto sire = static_cast<std::size_t>(std::countr_zero(s));
        const auto dam = static_cast<std::size_t>(std::countr_zero(d));
        const double all = Component::likelihood(field, kind, sire, dam);
        for (const States::Child& child : field.states().young(sire, dam)) {
          if (!(kind.domain >> child.state & 1)) continue;
          const auto rank = std::popcount(kind.domain & ((StateMask{1} << child.state) - 1));
          out[first + static_cast<std::size_t>(rank)] += both * child.chance * weights[child.state] / all;
        }
      }
    }
  }
}

void Inference::Work::store(std::span<const double> values, const Batches* batches) {
  std::size_t at = 0;
  const auto take = [&](std::size_t size, double& error) {
    for (std::size_t i = 0; batches && i < size; ++i) error = std::max(error, std::max(batches->error(at + i), 1e-9));
    at += size;
    return values.subspan(at - size, size);
  };
  const auto& variables = component_->variables();
  for (std::uint32_t i = 0; i < variables.size(); ++i) {
    double error = 0;
    const auto chances = take(component_->network().sizes[i], error);
    store_one(variables[i], chances, error);
  }
  for (const Component::Brood& brood : component_->broods()) {
    const Field& field = fields_[brood.locus];
    for (const Component::Alike& kind : component_->alike(brood.locus, brood.litter)) {
      double error = 0;
      const auto chances = take(static_cast<std::size_t>(std::popcount(kind.domain)), error);
      for (NodeIndex young : litters_.all[brood.litter].young) {
        const bool alike = field.weights_index(young) == kind.weights && field.domain(young) == kind.domain;
        if (alike && field.open(young) && component_->in_brood(brood.locus, young))
          store_one({brood.locus, young}, chances, error);
      }
    }
  }
}

void Inference::Work::store_one(const Variable& variable, std::span<const double> chances, double error) {
  if (variable.locus == Variable::kShared) {
    const Shared& shared = shared_[variable.index];
    if (shared.kind == Shared::Kind::siring) {
      sirings_[pedigree_.nodes[shared.node].choice].assign(chances.begin(), chances.end());
    }
    return;
  }
  const Field& field = fields_[variable.locus];
  auto& pool = pool_[variable.locus];
  std::uint32_t& place = place_[variable.locus][variable.index];
  if (place == kNoPlace) {
    place = static_cast<std::uint32_t>(pool.size());
    pool.resize(pool.size() + field.states().size());
  }
  double* out = pool.data() + place;
  std::fill(out, out + field.states().size(), 0);
  std::size_t i = 0;
  for (StateMask left = field.domain(variable.index); left; left &= left - 1)
    out[std::countr_zero(left)] = chances[i++];
  wide_[variable.locus][variable.index] = 0;
  auto& errors = errors_[variable.locus];
  if (error > 0) errors.resize(pedigree_.nodes.size());
  if (variable.index < errors.size()) errors[variable.index] = static_cast<float>(error);
  auto& places = in_draws_[variable.locus];
  if (variable.index < places.size()) places[variable.index] = {};
}

/// Where two alleles differ, most relatives are possible: from there the drawing begins.
std::vector<std::uint32_t> Inference::Work::mixed_states() const {
  std::vector<std::uint32_t> out;
  for (const Variable& variable : component_->variables()) {
    std::uint32_t best = 0;
    std::uint32_t at = 0;
    // That the observer erred fits whatever is drawn.
    if (variable.locus == Variable::kShared && shared_[variable.index].kind == Shared::Kind::look)
      best = static_cast<std::uint32_t>(shared_[variable.index].before.size()) - 1;
    const StateMask domain = variable.locus == Variable::kShared ? 0 : fields_[variable.locus].domain(variable.index);
    for (StateMask left = domain; left; left &= left - 1, ++at) {
      const State& state = fields_[variable.locus].states()[static_cast<std::size_t>(std::countr_zero(left))];
      if (state.a != state.b) best = at;
    }
    out.push_back(best);
  }
  return out;
}

bool Inference::Work::estimate() {
  Batches batches;
  auto kept = std::make_unique<Draws>();
  const auto& variables = component_->variables();
  const auto keep = [&](const std::vector<std::uint32_t>& drawn) {
    std::vector<std::uint8_t> states(drawn.size());
    for (std::size_t i = 0; i < drawn.size(); ++i) {
      if (variables[i].locus == Variable::kShared) continue;
      StateMask left = fields_[variables[i].locus].domain(variables[i].index);
      for (std::uint32_t skip = drawn[i]; skip > 0; --skip) left &= left - 1;
      states[i] = static_cast<std::uint8_t>(std::countr_zero(left));
    }
    kept->add(std::move(states));
  };
  const auto take = [&](const Elimination& drawn) {
    flat_.clear();
    read_out(drawn, flat_);
    batches.add(flat_);
  };
  if (!sample(component_->network(), mixed_states(), settings_.sweeps, take, keep)) return false;
  ++effort_.sampled;
  for (std::size_t i = 0; i < flat_.size(); ++i) flat_[i] = batches.mean(i);
  store(flat_, &batches);
  keep_draws(std::move(kept));
  log_likelihood_ = std::numeric_limits<double>::quiet_NaN();
  return true;
}

void Inference::Work::give_up() {
  std::map<std::uint16_t, Problem> problems;
  const auto add = [&](std::uint16_t locus, NodeIndex node) {
    wide_[locus][node] = 1;
    Problem& problem = problems[locus];
    problem.kind = Problem::Kind::too_wide;
    problem.locus = locus;
    const AnimalIndex animal = pedigree_.nodes[node].animal;
    if (animal != kNobody) problem.animals.push_back(animal);
  };
  for (const Variable& variable : component_->variables()) {
    if (variable.locus != Variable::kShared) add(variable.locus, variable.index);
  }
  for (const Component::Brood& brood : component_->broods()) {
    for (NodeIndex young : litters_.all[brood.litter].young) {
      if (fields_[brood.locus].open(young) && component_->in_brood(brood.locus, young)) add(brood.locus, young);
    }
  }
  for (auto& [locus, problem] : problems) problems_.push_back(std::move(problem));
  log_likelihood_ = std::numeric_limits<double>::quiet_NaN();
}

/// What families of certain genotypes and certain animals' own evidence contribute to the likelihood.
double Inference::Work::certain_part() const {
  double out = 0;
  for (const Field& field : fields_) {
    for (NodeIndex node = 0; node < pedigree_.nodes.size(); ++node) {
      if (field.open(node)) continue;
      if (field.excluded(node)) return -std::numeric_limits<double>::infinity();
      const Pedigree::Node& one = pedigree_.nodes[node];
      const auto state = static_cast<std::size_t>(std::countr_zero(field.domain(node)));
      const bool family = field.family_counts(pedigree_, node);
      if (family && (field.open(one.sire) || field.open(one.dam))) continue;
      double chance = field.weights(node)[state];
      if (family) {
        const auto sire = static_cast<std::size_t>(std::countr_zero(field.domain(one.sire)));
        const auto dam = static_cast<std::size_t>(std::countr_zero(field.domain(one.dam)));
        for (const States::Child& child : field.states().young(sire, dam)) {
          if (child.state == state) chance *= child.chance;
        }
      }
      if (chance != 1) out += std::log(chance);
    }
  }
  return out;
}

}  // namespace rackside::core::genetics
