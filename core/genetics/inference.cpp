#include "core/genetics/inference.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <map>

#include "core/genetics/component.h"
#include "core/genetics/sampling.h"

namespace rackside::core::genetics {
namespace {

constexpr std::uint32_t kNoPlace = 0xffffffff;
constexpr std::uint64_t kMostCases = 4096;

/// All alike where none weighs anything.
void make_sum_one(std::vector<double>& weights) {
  double all = 0;
  for (double one : weights) all += one;
  for (double& one : weights) one = all > 0 ? one / all : 1 / static_cast<double>(weights.size());
}

}  // namespace

class Inference::Work {
 public:
  Work(std::shared_ptr<const Species> species, Settings settings) : species_(std::move(species)), settings_(settings) {
    for (std::size_t i = 0; i < species_->loci.size(); ++i) {
      fields_.emplace_back(*species_, static_cast<std::uint16_t>(i), settings_);
    }
  }
  void load(const Collection& collection);
  void extend(const Collection& collection);
  std::vector<double> odds(NodeIndex node, std::uint16_t locus) const;
  std::vector<double> siring(SiringIndex siring) const;
  Joint joint(NodeIndex first, NodeIndex second, std::uint16_t locus,
              const std::map<SharedIndex, std::uint32_t>& fixed);
  std::vector<Case> cases(NodeIndex first, NodeIndex second, std::span<const std::uint16_t> loci);

  std::shared_ptr<const Species> species_;
  Settings settings_;
  Pedigree pedigree_;
  std::vector<Field> fields_;
  std::vector<Problem> problems_;
  double log_likelihood_ = 0;
  Effort effort_;
  std::map<SiringIndex, std::vector<double>> sirings_;
  std::vector<std::vector<std::uint32_t>> place_;  ///< of an open node's chances, by locus and node
  std::vector<std::vector<double>> pool_;
  std::vector<std::vector<std::uint8_t>> wide_;
  std::map<std::pair<std::uint16_t, NodeIndex>, double> errors_;  ///< of sampled chances

 private:
  void take_in(const Collection& collection);
  void hear();
  void share();
  void solve_locus(std::uint16_t locus);
  void solve_shared(SharedIndex index);
  void solve_shared_of(NodeIndex node);
  void solve_again();
  void solve_from(const Variable& seed);
  void store();
  void store_one(const Variable& variable, std::span<const double> chances);
  std::vector<std::uint32_t> mixed_states() const;
  bool estimate();
  void give_up();
  double certain_part() const;
  void reserve();

  Collection kept_;
  Said said_;
  std::vector<Shared> shared_;
  std::map<NodeIndex, std::vector<SharedIndex>> shared_of_;
  std::unique_ptr<Component> component_;
  Elimination elimination_;
  std::vector<std::uint16_t> again_;  ///< loci whose domains changed while solving
};

void Inference::Work::take_in(const Collection& collection) {
  kept_ = collection;
  for (Statement& one : kept_.statements) {
    if (refers_to_known(*species_, kept_.animals.size(), one)) continue;
    problems_.push_back({Problem::Kind::unknown_reference, 0, {one.animal}, {one.record}});
    one.certainty = Certainty::cannot_tell;
    one.options.clear();
    one.says = Says::nothing_else;
    if (one.animal >= kept_.animals.size()) one.animal = kNobody;
  }
}

/// Statements by animal; what the same author says twice counts once.
void Inference::Work::hear() {
  said_.all.clear();
  said_.of.assign(kept_.animals.size(), {});
  for (const Statement& one : kept_.statements) {
    if (one.animal == kNobody) continue;
    auto& list = said_.of[one.animal];
    if (std::any_of(list.begin(), list.end(), [&](const Statement* other) { return same_statement(*other, one); }))
      continue;
    list.push_back(&one);
    said_.all.push_back(&one);
  }
}

void Inference::Work::share() {
  shared_.clear();
  shared_of_.clear();
  const auto add = [&](Shared one) {
    shared_of_[one.node].push_back(static_cast<SharedIndex>(shared_.size()));
    shared_.push_back(std::move(one));
  };
  std::vector<std::uint16_t> sex_linked;
  for (const Field& field : fields_) {
    if (field.states().sex_matters()) sex_linked.push_back(field.locus());
  }
  for (NodeIndex node = 0; node < pedigree_.nodes.size(); ++node) {
    const Pedigree::Node& one = pedigree_.nodes[node];
    if (one.choice != kNoSiring) {
      Shared made{.kind = Shared::Kind::siring, .node = node};
      for (const PossibleSire& sire : kept_.sirings[one.choice].possible)
        made.before.push_back(std::max(0.0, sire.weight));
      make_sum_one(made.before);
      add(std::move(made));
    } else if (one.sex == Sex::unknown && sex_linked.size() > 1) {
      add({.kind = Shared::Kind::sex, .node = node, .before = {0.5, 0.5}, .loci = sex_linked});
    }
  }
  for (const Statement* statement : said_.all) {
    if (!Said::either_or(*statement)) continue;
    Shared made{.kind = Shared::Kind::look, .node = pedigree_.of_animal[statement->animal], .statement = statement};
    for (const Option& option : statement->options) {
      if (std::find(made.loci.begin(), made.loci.end(), option.locus) == made.loci.end())
        made.loci.push_back(option.locus);
    }
    std::sort(made.loci.begin(), made.loci.end());
    made.before.assign(made.loci.size(), 1 / static_cast<double>(made.loci.size()));
    add(std::move(made));
  }
}

void Inference::Work::reserve() {
  place_.resize(fields_.size());
  pool_.resize(fields_.size());
  wide_.resize(fields_.size());
  for (auto& row : place_) row.resize(pedigree_.nodes.size(), kNoPlace);
  for (auto& row : wide_) row.resize(pedigree_.nodes.size());
}

void Inference::Work::load(const Collection& collection) {
  problems_.clear();
  pedigree_ = {};
  sirings_.clear();
  place_.clear();
  pool_.clear();
  wide_.clear();
  errors_.clear();
  effort_ = {};
  take_in(collection);
  pedigree_.extend(kept_);
  problems_.insert(problems_.end(), pedigree_.problems.begin(), pedigree_.problems.end());
  hear();
  share();
  reserve();
  for (Field& field : fields_) field.load(pedigree_, said_, problems_);
  component_ = std::make_unique<Component>(pedigree_, fields_, shared_, shared_of_);
  component_->forget();
  log_likelihood_ = 0;
  for (std::uint16_t locus = 0; locus < fields_.size(); ++locus) solve_locus(locus);
  for (SharedIndex i = 0; i < shared_.size(); ++i) solve_shared(i);
  solve_again();
  log_likelihood_ += certain_part();
}

void Inference::Work::solve_locus(std::uint16_t locus) {
  for (NodeIndex node = 0; node < pedigree_.nodes.size(); ++node) {
    if (fields_[locus].open(node) && !component_->seen(locus, node)) solve_from({locus, node});
  }
}

/// One that touches certain genotypes only is reached from none of them.
void Inference::Work::solve_shared(SharedIndex index) {
  if (shared_[index].kind != Shared::Kind::sex && !component_->seen(index)) solve_from({Variable::kShared, index});
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
    store();
    return;
  }
  log_likelihood_ = -std::numeric_limits<double>::infinity();
  std::map<std::uint16_t, std::vector<NodeIndex>> members;
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

void Inference::Work::store() {
  const auto& variables = component_->variables();
  for (std::uint32_t i = 0; i < variables.size(); ++i) store_one(variables[i], elimination_.chances(i));
}

void Inference::Work::store_one(const Variable& variable, std::span<const double> chances) {
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
  errors_.erase({variable.locus, variable.index});
}

/// Where two alleles differ, most relatives are possible: from there the drawing begins.
std::vector<std::uint32_t> Inference::Work::mixed_states() const {
  std::vector<std::uint32_t> out;
  for (const Variable& variable : component_->variables()) {
    std::uint32_t best = 0;
    std::uint32_t at = 0;
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
  const Sampled sampled = sample(component_->network(), mixed_states(), settings_.sweeps);
  if (!sampled.found) return false;
  ++effort_.sampled;
  const auto& variables = component_->variables();
  for (std::uint32_t i = 0; i < variables.size(); ++i) {
    store_one(variables[i], sampled.chances[i]);
    if (variables[i].locus != Variable::kShared) {
      errors_[{variables[i].locus, variables[i].index}] = std::max(sampled.errors[i], 1e-9);
    }
  }
  log_likelihood_ = std::numeric_limits<double>::quiet_NaN();
  return true;
}

void Inference::Work::give_up() {
  std::map<std::uint16_t, Problem> problems;
  for (const Variable& variable : component_->variables()) {
    if (variable.locus == Variable::kShared) continue;
    wide_[variable.locus][variable.index] = 1;
    Problem& problem = problems[variable.locus];
    problem.kind = Problem::Kind::too_wide;
    problem.locus = variable.locus;
    const AnimalIndex animal = pedigree_.nodes[variable.index].animal;
    if (animal != kNobody) problem.animals.push_back(animal);
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

void Inference::Work::extend(const Collection& collection) {
  const auto first_node = static_cast<NodeIndex>(pedigree_.nodes.size());
  const std::size_t first_statement = kept_.statements.size();
  const std::size_t first_problem = pedigree_.problems.size();
  take_in(collection);
  pedigree_.extend(kept_);
  problems_.insert(problems_.end(), pedigree_.problems.begin() + static_cast<std::ptrdiff_t>(first_problem),
                   pedigree_.problems.end());
  hear();
  share();
  reserve();
  effort_ = {};
  std::vector<NodeIndex> spoken_of;
  for (std::size_t i = first_statement; i < kept_.statements.size(); ++i) {
    const AnimalIndex animal = kept_.statements[i].animal;
    if (animal == kNobody) continue;
    const NodeIndex node = pedigree_.of_animal[animal];
    if (node < first_node) spoken_of.push_back(node);
    // An unknown parent is known through its young.
    for (NodeIndex parent : {pedigree_.nodes[node].sire, pedigree_.nodes[node].dam}) {
      if (parent >= first_node) continue;
      if (pedigree_.nodes[parent].animal == kNobody) spoken_of.push_back(parent);
      if (pedigree_.nodes[parent].choice == kNoSiring) continue;
      for (NodeIndex sire : pedigree_.candidates[pedigree_.nodes[parent].choice]) {
        if (pedigree_.nodes[sire].animal == kNobody && sire < first_node) spoken_of.push_back(sire);
      }
    }
  }
  std::vector<std::vector<NodeIndex>> seeds(fields_.size());
  for (Field& field : fields_) {
    const auto touched = field.extend(pedigree_, said_, first_node, spoken_of, problems_);
    if (touched) {
      seeds[field.locus()] = *touched;
    } else {
      again_.push_back(field.locus());
    }
  }
  component_->forget();
  for (std::uint16_t locus = 0; locus < fields_.size(); ++locus) {
    const auto solve = [&](NodeIndex node) {
      if (node != kNoNode && fields_[locus].open(node) && !component_->seen(locus, node)) solve_from({locus, node});
    };
    for (NodeIndex node : seeds[locus]) {
      solve(node);
      const Pedigree::Node& one = pedigree_.nodes[node];
      solve(one.sire);
      solve(one.dam);
      for (NodeIndex child : pedigree_.children[node]) {
        solve(child);
        solve(pedigree_.nodes[child].sire);
        solve(pedigree_.nodes[child].dam);
      }
    }
  }
  for (const auto& nodes : seeds) {
    for (NodeIndex node : nodes) {
      solve_shared_of(node);
      for (NodeIndex child : pedigree_.children[node]) solve_shared_of(child);
    }
  }
  solve_again();
  log_likelihood_ = std::numeric_limits<double>::quiet_NaN();
}

std::vector<double> Inference::Work::odds(NodeIndex node, std::uint16_t locus) const {
  const Field& field = fields_[locus];
  if (field.excluded(node) || wide_[locus][node]) return {};
  std::vector<double> out(field.states().size());
  if (!field.open(node)) {
    out[static_cast<std::size_t>(std::countr_zero(field.domain(node)))] = 1;
  } else {
    const double* from = pool_[locus].data() + place_[locus][node];
    std::copy(from, from + out.size(), out.begin());
  }
  return out;
}

/// Where nothing tells the possible sires apart, what was believed beforehand.
std::vector<double> Inference::Work::siring(SiringIndex siring) const {
  if (const auto found = sirings_.find(siring); found != sirings_.end()) return found->second;
  std::vector<double> out;
  for (const PossibleSire& one : kept_.sirings[siring].possible) out.push_back(std::max(0.0, one.weight));
  make_sum_one(out);
  return out;
}

Joint Inference::Work::joint(NodeIndex first, NodeIndex second, std::uint16_t locus,
                             const std::map<SharedIndex, std::uint32_t>& fixed) {
  const Field& field = fields_[locus];
  if (field.excluded(first) || field.excluded(second)) return {};
  component_->forget();
  component_->gather({{locus, first}, {locus, second}}, fixed);
  std::vector<std::uint32_t> together;
  for (NodeIndex node : {first, second}) {
    const bool again = node == second && first == second;
    if (field.open(node) && !again) together.push_back(component_->local(locus, node));
  }
  if (!elimination_.plan(component_->network(), together)) return {};
  if (elimination_.solve(component_->network()) != Elimination::Outcome::solved) return {};
  const std::size_t n = field.states().size();
  Joint out{std::vector<double>(n * n)};
  std::size_t at = 0;
  for (StateMask a = field.domain(first); a; a &= a - 1) {
    for (StateMask b = first == second ? a & -a : field.domain(second); b; b &= b - 1) {
      out.chances[std::countr_zero(a) * n + std::countr_zero(b)] = together.empty() ? 1 : elimination_.joint()[at++];
    }
  }
  return out;
}

std::vector<Inference::Case> Inference::Work::cases(NodeIndex first, NodeIndex second,
                                                    std::span<const std::uint16_t> loci) {
  std::vector<Variable> seeds;
  for (std::uint16_t locus : loci) {
    seeds.push_back({locus, first});
    seeds.push_back({locus, second});
  }
  component_->forget();
  component_->gather(seeds);
  const auto shared = component_->shared_variables();
  std::uint64_t count = 1;
  for (SharedIndex one : shared) count = std::min(kMostCases + 1, count * shared_[one].before.size());
  if (count > kMostCases) return {};
  std::vector<Case> out;
  double most = -std::numeric_limits<double>::infinity();
  std::vector<double> logs;
  for (std::uint64_t number = 0; number < count; ++number) {
    std::map<SharedIndex, std::uint32_t> fixed;
    std::uint64_t left = number;
    for (SharedIndex one : shared) {
      fixed[one] = static_cast<std::uint32_t>(left % shared_[one].before.size());
      left /= shared_[one].before.size();
    }
    component_->forget();
    component_->gather(seeds, fixed);
    if (!elimination_.plan(component_->network())) return {};
    if (elimination_.solve(component_->network()) != Elimination::Outcome::solved) continue;
    Case made;
    logs.push_back(elimination_.log_sum());
    most = std::max(most, logs.back());
    for (std::uint16_t locus : loci) {
      made.at.push_back(joint(first, second, locus, fixed));
      if (made.at.back().chances.empty()) return {};
    }
    out.push_back(std::move(made));
  }
  double all = 0;
  for (std::size_t i = 0; i < out.size(); ++i) all += out[i].chance = std::exp(logs[i] - most);
  for (Case& one : out) one.chance /= all;
  return out;
}

Inference::Inference(std::shared_ptr<const Species> species, Settings settings)
    : work_(std::make_unique<Work>(std::move(species), settings)) {
  work_->load({});
}
Inference::~Inference() = default;
Inference::Inference(Inference&&) noexcept = default;
Inference& Inference::operator=(Inference&&) noexcept = default;

void Inference::load(const Collection& collection) {
  work_->load(collection);
}
void Inference::extend(const Collection& collection) {
  work_->extend(collection);
}
const Species& Inference::species() const {
  return *work_->species_;
}
const States& Inference::states(std::uint16_t locus) const {
  return work_->fields_[locus].states();
}
std::size_t Inference::animals() const {
  return work_->pedigree_.of_animal.size();
}

std::vector<double> Inference::odds(AnimalIndex animal, std::uint16_t locus) const {
  return work_->odds(work_->pedigree_.of_animal[animal], locus);
}

Way Inference::way(AnimalIndex animal, std::uint16_t locus) const {
  if (odds(animal, locus).empty()) return Way::no_answer;
  return error(animal, locus) > 0 ? Way::sampled : Way::exact;
}

double Inference::error(AnimalIndex animal, std::uint16_t locus) const {
  const NodeIndex node = work_->pedigree_.of_animal[animal];
  const auto found = work_->errors_.find({locus, node});
  return found == work_->errors_.end() || !work_->fields_[locus].open(node) ? 0 : found->second;
}

std::vector<double> Inference::siring(SiringIndex siring) const {
  return work_->siring(siring);
}

Joint Inference::joint(AnimalIndex first, AnimalIndex second, std::uint16_t locus) const {
  return work_->joint(work_->pedigree_.of_animal[first], work_->pedigree_.of_animal[second], locus, {});
}

std::vector<Inference::Case> Inference::cases(AnimalIndex first, AnimalIndex second,
                                              std::span<const std::uint16_t> loci) const {
  return work_->cases(work_->pedigree_.of_animal[first], work_->pedigree_.of_animal[second], loci);
}

const std::vector<Problem>& Inference::problems() const {
  return work_->problems_;
}
double Inference::log_likelihood() const {
  return work_->log_likelihood_;
}
const Inference::Effort& Inference::effort() const {
  return work_->effort_;
}

}  // namespace rackside::core::genetics
