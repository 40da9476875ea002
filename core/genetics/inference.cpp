#include "core/genetics/inference.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>

#include "core/genetics/inference_work.h"

namespace rackside::core::genetics {
namespace {

constexpr std::uint64_t kMostCases = 4096;

}  // namespace

std::vector<double> Inference::Work::odds(NodeIndex node, std::uint16_t locus) const {
  const Field& field = fields_[locus];
  if (field.excluded(node) || wide_[locus][node]) return {};
  std::vector<double> out(field.states().size());
  if (!field.open(node)) {
    out[static_cast<std::size_t>(std::countr_zero(field.domain(node)))] = 1;
    return out;
  }
  if (place_[locus][node] != kNoPlace) {
    const double* from = pool_[locus].data() + place_[locus][node];
    std::copy(from, from + out.size(), out.begin());
  }
  if (!is_reweighed(locus, node)) return out;
  const Shift shift = shift_of(locus, node);
  double all = 0;
  for (std::size_t i = 0; i < out.size(); ++i) {
    out[i] = field.domain(node) >> i & 1 ? std::max(0.0, out[i] + shift.chances[i]) : 0;
    all += out[i];
  }
  for (double& one : out) one /= all;
  return out;
}

double Inference::Work::error(NodeIndex node, std::uint16_t locus) const {
  if (!fields_[locus].open(node)) return 0;
  const double drawn = node < errors_[locus].size() ? errors_[locus][node] : 0;
  return is_reweighed(locus, node) ? std::hypot(drawn, std::max(1e-9, shift_of(locus, node).error)) : drawn;
}

/// Where nothing tells the possible sires apart, what was believed beforehand.
std::vector<double> Inference::Work::siring(SiringIndex siring) const {
  if (const auto found = sirings_.find(siring); found != sirings_.end()) return found->second;
  return beforehand(kept_.sirings[siring]);
}

Joint Inference::Work::joint(NodeIndex first, NodeIndex second, std::uint16_t locus,
                             const std::map<SharedIndex, std::uint32_t>& fixed) {
  const Field& field = fields_[locus];
  if (field.excluded(first) || field.excluded(second)) return {};
  if (is_drawn(locus, first) || is_drawn(locus, second)) return drawn_joint(first, second, locus);
  component_->forget();
  component_->gather({{locus, first}, {locus, second}}, fixed);
  std::vector<std::uint32_t> together;
  for (NodeIndex node : {first, second}) {
    const bool again = first == second && !together.empty();
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
  std::vector<std::uint16_t> exact;
  std::vector<std::uint16_t> drawn;
  for (std::uint16_t locus : loci) (is_drawn(locus, first) || is_drawn(locus, second) ? drawn : exact).push_back(locus);
  if (drawn.empty()) return exact_cases(first, second, loci);
  const std::vector<Case> some = exact_cases(first, second, exact);
  const std::vector<Case> others = drawn_cases(first, second, drawn);
  std::vector<Case> out;
  if (some.size() * others.size() > kMostCases) return out;
  for (const Case& a : some) {
    for (const Case& b : others) {
      Case both{a.chance * b.chance, {}};
      auto of_a = a.at.begin();
      auto of_b = b.at.begin();
      for (std::uint16_t locus : loci) {
        const bool is_exact = std::find(exact.begin(), exact.end(), locus) != exact.end();
        both.at.push_back(is_exact ? *of_a++ : *of_b++);
      }
      out.push_back(std::move(both));
    }
  }
  return out;
}

std::vector<Inference::Case> Inference::Work::exact_cases(NodeIndex first, NodeIndex second,
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
  return work_->error(work_->pedigree_.of_animal[animal], locus);
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
