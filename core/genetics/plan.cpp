#include "core/genetics/plan.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

namespace rackside::core::genetics {
namespace {

/// Pairs that are worked out further: jointly, and over a second generation.
constexpr std::size_t kMostPairs = 200;
constexpr std::size_t kMostMates = 60;
constexpr double kLeast = 1e-9;
constexpr double kLikely = 0.9;

unsigned young_for(double each) {
  if (each >= 1) return 1;
  return static_cast<unsigned>(std::min(1e6, std::ceil(std::log(1 - kLikely) / std::log1p(-each) - 1e-9)));
}

/// One wanted look at its locus, and what each pair of genotypes gives.
class Aim {
 public:
  Aim(const Inference& inference, Part part) : part_(part), states_(inference.states(part.locus)) {
    const std::size_t n = states_.size();
    wanted_.assign(n * n, 0);
    for (std::size_t s = 0; s < n; ++s) {
      for (std::size_t d = 0; d < n; ++d) {
        for (const States::Child& child : states_.young(s, d)) {
          if (states_.look(child.state) == part.look) wanted_[s * n + d] += child.chance;
        }
      }
    }
  }
  const Part& part() const { return part_; }
  const States& states() const { return states_; }
  double chance(const std::vector<double>& sire, const std::vector<double>& dam) const {
    const std::size_t n = states_.size();
    double out = 0;
    for (std::size_t s = 0; s < n; ++s) {
      if (sire[s] <= 0) continue;
      double sum = 0;
      for (std::size_t d = 0; d < n; ++d) sum += wanted_[s * n + d] * dam[d];
      out += sire[s] * sum;
    }
    return out;
  }
  /// Genotypes of living young of parents with these odds.
  std::vector<double> young(const std::vector<double>& sire, const std::vector<double>& dam) const {
    std::vector<double> out(states_.size());
    double all = 0;
    for (std::size_t s = 0; s < out.size(); ++s) {
      for (std::size_t d = 0; d < out.size(); ++d) {
        const double both = sire[s] * dam[d];
        if (both <= 0) continue;
        for (const States::Child& child : states_.young(s, d)) {
          out[child.state] += both * child.chance;
          all += both * child.chance;
        }
      }
    }
    for (double& one : out) one = all > 0 ? one / all : 0;
    return out;
  }

 private:
  Part part_;
  const States& states_;
  std::vector<double> wanted_;
};

/// An animal's odds at the aims, in their order.
using Genes = std::vector<std::vector<double>>;

struct Candidate {
  AnimalIndex animal = kNobody;
  Genes genes;
};

std::vector<Candidate> candidates(const Inference& inference, std::span<const AnimalIndex> animals,
                                  const std::vector<Aim>& aims) {
  std::vector<Candidate> out;
  for (AnimalIndex animal : animals) {
    Candidate one{.animal = animal};
    for (const Aim& aim : aims) one.genes.push_back(inference.odds(animal, aim.part().locus));
    const bool answered =
        std::none_of(one.genes.begin(), one.genes.end(), [](const auto& odds) { return odds.empty(); });
    if (answered) out.push_back(std::move(one));
  }
  return out;
}

double chance_of_all(const std::vector<Aim>& aims, const Genes& sire, const Genes& dam) {
  double out = 1;
  for (std::size_t i = 0; i < aims.size() && out > 0; ++i) out *= aims[i].chance(sire[i], dam[i]);
  return out;
}

struct Pairing {
  const Candidate* sire = nullptr;
  const Candidate* dam = nullptr;
  double value = 0;
};

/// The best by a value, without holding them all.
template <typename Value>
std::vector<Pairing> best_pairs(const std::vector<Candidate>& males, const std::vector<Candidate>& females,
                                std::size_t most, Value&& value_of) {
  std::vector<Pairing> out;
  const auto better = [](const Pairing& a, const Pairing& b) { return a.value > b.value; };
  for (const Candidate& sire : males) {
    for (const Candidate& dam : females) {
      const double value = value_of(sire, dam);
      if (value <= kLeast || (out.size() == most && value <= out.front().value)) continue;
      if (out.size() == most) {
        std::pop_heap(out.begin(), out.end(), better);
        out.pop_back();
      }
      out.push_back({&sire, &dam, value});
      std::push_heap(out.begin(), out.end(), better);
    }
  }
  std::sort(out.begin(), out.end(), [](const Pairing& a, const Pairing& b) {
    return std::tuple(-a.value, a.sire->animal, a.dam->animal) < std::tuple(-b.value, b.sire->animal, b.dam->animal);
  });
  return out;
}

/// How far a pair's young are on the way: the chance that one of two of their young, bred together, shows all.
double promise(const std::vector<Aim>& aims, const Candidate& sire, const Candidate& dam) {
  double out = 1;
  for (std::size_t i = 0; i < aims.size() && out > 0; ++i) {
    const auto young = aims[i].young(sire.genes[i], dam.genes[i]);
    out *= aims[i].chance(young, young);
  }
  return out;
}

/// Young of one look: which they are, and what they may carry.
struct Kept {
  std::vector<Part> looks;
  double chance = 1;
  Genes genes;
};

/// All looks that young of the pair may have at the aims' loci.
std::vector<Kept> kept_young(const std::vector<Aim>& aims, const Candidate& sire, const Candidate& dam) {
  std::vector<Kept> out{Kept{}};
  for (std::size_t i = 0; i < aims.size(); ++i) {
    const auto young = aims[i].young(sire.genes[i], dam.genes[i]);
    const States& states = aims[i].states();
    std::map<std::uint8_t, double> looks;
    for (std::size_t s = 0; s < young.size(); ++s) looks[states.look(s)] += young[s];
    std::vector<Kept> next;
    for (const Kept& kept : out) {
      for (const auto& [look, chance] : looks) {
        if (chance <= kLeast) continue;
        Kept longer = kept;
        longer.chance *= chance;
        if (look != 0) longer.looks.push_back({aims[i].part().locus, look});
        std::vector<double> given(young.size());
        for (std::size_t s = 0; s < young.size(); ++s) given[s] = states.look(s) == look ? young[s] / chance : 0;
        longer.genes.push_back(std::move(given));
        next.push_back(std::move(longer));
      }
    }
    out = std::move(next);
  }
  return out;
}

class SecondGeneration {
 public:
  SecondGeneration(const std::vector<Aim>& aims, const std::vector<Candidate>& males,
                   const std::vector<Candidate>& females)
      : aims_(aims) {
    gather(males);
    gather(females);
    // Mates that alone have most of what is wanted.
    std::sort(mates_.begin(), mates_.end(), [](const auto& a, const auto& b) {
      return std::pair(-a.first, a.second->animal) < std::pair(-b.first, b.second->animal);
    });
    if (mates_.size() > kMostMates) mates_.resize(kMostMates);
  }

  void try_all(const Pairing& first, std::vector<TwoSteps>& out) const {
    for (const Kept& kept : kept_young(aims_, *first.sire, *first.dam)) {
      TwoSteps base{.sire = first.sire->animal, .dam = first.dam->animal, .keep = kept.looks, .keep_each = kept.chance};
      // Expected young until one of the needed sex is there; of siblings until both sexes are.
      add(base, TwoSteps::Second::siblings, kNobody, kept.genes, kept, 3 / kept.chance, out);
      add(base, TwoSteps::Second::back_to_sire, first.sire->animal, first.sire->genes, kept, 2 / kept.chance, out);
      add(base, TwoSteps::Second::back_to_dam, first.dam->animal, first.dam->genes, kept, 2 / kept.chance, out);
      for (const auto& [value, mate] : mates_) {
        if (mate != first.sire && mate != first.dam)
          add(base, TwoSteps::Second::other, mate->animal, mate->genes, kept, 2 / kept.chance, out);
      }
    }
  }

 private:
  void gather(const std::vector<Candidate>& animals) {
    for (const Candidate& one : animals) {
      const double value = chance_of_all(aims_, one.genes, one.genes);
      if (value > kLeast || aims_.size() > 1) mates_.emplace_back(value, &one);
    }
  }
  void add(TwoSteps base, TwoSteps::Second second, AnimalIndex mate, const Genes& genes, const Kept& kept,
           double first_young, std::vector<TwoSteps>& out) const {
    // Sex-linked loci differ by who is the father; the likelier way round is the one a keeper would choose.
    base.each = std::max(chance_of_all(aims_, kept.genes, genes), chance_of_all(aims_, genes, kept.genes));
    if (base.each <= kLeast) return;
    base.second = second;
    base.mate = mate;
    base.young = first_young + 1 / base.each;
    out.push_back(std::move(base));
  }

  const std::vector<Aim>& aims_;
  std::vector<std::pair<double, const Candidate*>> mates_;
};

bool quicker(const TwoSteps& a, const TwoSteps& b) {
  return std::tuple(a.young, a.sire, a.dam, a.mate) < std::tuple(b.young, b.sire, b.dam, b.mate);
}

/// Of one first pair only its best way: else ten answers are one answer ten times.
std::vector<TwoSteps> best_steps(std::vector<TwoSteps> all, double below, std::size_t most) {
  std::sort(all.begin(), all.end(), quicker);
  std::vector<TwoSteps> out;
  std::map<std::pair<AnimalIndex, AnimalIndex>, bool> told;
  for (TwoSteps& one : all) {
    if (out.size() == most || one.young >= below) break;
    if (std::exchange(told[{one.sire, one.dam}], true)) continue;
    out.push_back(std::move(one));
  }
  return out;
}

}  // namespace

BreedingPlan plan(const Inference& inference, std::span<const AnimalIndex> males, std::span<const AnimalIndex> females,
                  std::span<const Part> wanted, std::size_t most) {
  std::vector<Aim> aims;
  for (const Part& part : wanted) aims.emplace_back(inference, part);
  const auto sires = candidates(inference, males, aims);
  const auto dams = candidates(inference, females, aims);
  BreedingPlan out;
  const auto direct =
      best_pairs(sires, dams, std::max(most, std::size_t{1}) * 3,
                 [&](const auto& sire, const auto& dam) { return chance_of_all(aims, sire.genes, dam.genes); });
  for (const Pairing& one : direct) {
    DirectPair pair{.sire = one.sire->animal, .dam = one.dam->animal, .each = one.value};
    if (const auto joint = clutch_odds(inference, pair.sire, pair.dam, wanted, 1)) {
      pair.each = joint->each;
      pair.exact = true;
    }
    if (pair.each <= kLeast) continue;
    pair.young = young_for(pair.each);
    out.pairs.push_back(pair);
  }
  std::stable_sort(out.pairs.begin(), out.pairs.end(),
                   [](const DirectPair& a, const DirectPair& b) { return a.each > b.each; });
  if (out.pairs.size() > most) out.pairs.resize(most);

  const SecondGeneration second(aims, sires, dams);
  std::vector<TwoSteps> steps;
  // A first pair leads somewhere if its young could finish among themselves, or with one of the mates.
  const auto first =
      best_pairs(sires, dams, kMostPairs, [&](const auto& sire, const auto& dam) { return promise(aims, sire, dam); });
  for (const Pairing& one : first) second.try_all(one, steps);
  const double below = out.pairs.empty() ? 1e9 : 1 / out.pairs.front().each;
  out.steps = best_steps(std::move(steps), below, most);
  return out;
}

}  // namespace rackside::core::genetics
