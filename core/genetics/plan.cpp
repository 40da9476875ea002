#include "core/genetics/plan.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <map>
#include <set>
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

/// The same of sons and of daughters.
template <typename T>
struct BySex {
  T sons{};
  T daughters{};
  T& of(Sex sex) { return sex == Sex::male ? sons : daughters; }
  const T& of(Sex sex) const { return sex == Sex::male ? sons : daughters; }
};
constexpr std::array kSexes{Sex::male, Sex::female};

/// One wanted look at its locus, and what each pair of genotypes gives.
class Aim {
 public:
  Aim(const Inference& inference, Part part) : part_(part), states_(inference.states(part.locus)) {
    const std::size_t n = states_.size();
    for (const Sex sex : kSexes) {
      wanted_.of(sex).assign(n * n, 0);
      living_.of(sex).assign(n * n, 0);
      for (std::size_t pair = 0; pair < n * n; ++pair) count(pair, sex);
    }
  }
  const Part& part() const { return part_; }
  const States& states() const { return states_; }

  /// Of one son and of one daughter of parents with these odds, as if all lived and half were sons: the chance to live
  /// and to show what is wanted, and the chance to live. Where the sexes do not differ, of any young.
  struct Share {
    BySex<double> wanted;
    BySex<double> living;
  };
  Share share(const std::vector<double>& sire, const std::vector<double>& dam) const {
    if (states_.sex_matters()) {
      return {{mean(wanted_.sons, sire, dam), mean(wanted_.daughters, sire, dam)},
              {mean(living_.sons, sire, dam), mean(living_.daughters, sire, dam)}};
    }
    const double wanted = mean(wanted_.sons, sire, dam);
    return {{wanted, wanted}, {1, 1}};
  }

  /// Genotypes of living sons or daughters of parents with these odds.
  std::vector<double> young(const std::vector<double>& sire, const std::vector<double>& dam, Sex sex) const {
    std::vector<double> out(states_.size());
    double all = 0;
    for (std::size_t s = 0; s < out.size(); ++s) {
      for (std::size_t d = 0; d < out.size(); ++d) {
        const double both = sire[s] * dam[d];
        if (both <= 0) continue;
        for (const States::Child& child : states_.young(s, d)) {
          if (!is_of(child.state, sex)) continue;
          out[child.state] += both * child.chance;
          all += both * child.chance;
        }
      }
    }
    for (double& one : out) one = all > 0 ? one / all : 0;
    return out;
  }

 private:
  bool is_of(std::uint8_t state, Sex sex) const {
    return states_[state].sex == Sex::unknown || states_[state].sex == sex;
  }
  void count(std::size_t pair, Sex sex) {
    const double of_sex = states_.sex_matters() ? 2 : 1;
    for (const States::Child& child : states_.young(pair / states_.size(), pair % states_.size())) {
      if (!is_of(child.state, sex)) continue;
      living_.of(sex)[pair] += of_sex * child.chance;
      if (states_.look(child.state) == part_.look) wanted_.of(sex)[pair] += of_sex * child.chance;
    }
  }
  double mean(const std::vector<double>& of_pair, const std::vector<double>& sire,
              const std::vector<double>& dam) const {
    const std::size_t n = states_.size();
    double out = 0;
    for (std::size_t s = 0; s < n; ++s) {
      if (sire[s] <= 0) continue;
      double sum = 0;
      for (std::size_t d = 0; d < n; ++d) sum += of_pair[s * n + d] * dam[d];
      out += sire[s] * sum;
    }
    return out;
  }

  Part part_;
  const States& states_;
  BySex<std::vector<double>> wanted_;
  BySex<std::vector<double>> living_;
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

/// Of one living young. Sex-linked looks go together: what a locus says of the young's sex the others know.
double chance_of_all(const std::vector<Aim>& aims, const Genes& sire, const Genes& dam) {
  BySex<double> wanted{1, 1};
  BySex<double> living{1, 1};
  for (std::size_t i = 0; i < aims.size() && wanted.sons + wanted.daughters > 0; ++i) {
    const Aim::Share share = aims[i].share(sire[i], dam[i]);
    for (const Sex sex : kSexes) {
      wanted.of(sex) *= share.wanted.of(sex);
      living.of(sex) *= share.living.of(sex);
    }
  }
  const double all = living.sons + living.daughters;
  return all > 0 ? (wanted.sons + wanted.daughters) / all : 0;
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
  BySex<Genes> young;
  for (std::size_t i = 0; i < aims.size(); ++i) {
    for (const Sex sex : kSexes) young.of(sex).push_back(aims[i].young(sire.genes[i], dam.genes[i], sex));
  }
  return chance_of_all(aims, young.sons, young.daughters);
}

/// Young of one look: which they are, and what they may carry.
struct Kept {
  struct Side {
    double chance = 0.5;  ///< of one young: to be of this sex and look so
    Genes genes;
  };
  std::vector<Part> looks;
  BySex<Side> side;
  double chance() const { return side.sons.chance + side.daughters.chance; }
};

double chance_of_look(const States& states, const std::vector<double>& young, std::uint8_t look) {
  double out = 0;
  for (std::size_t s = 0; s < young.size(); ++s) out += states.look(s) == look ? young[s] : 0;
  return out;
}

std::vector<double> given_look(const States& states, std::vector<double> young, std::uint8_t look, double chance) {
  for (std::size_t s = 0; s < young.size(); ++s)
    young[s] = chance > 0 && states.look(s) == look ? young[s] / chance : 0;
  return young;
}

std::set<std::uint8_t> looks_of(const States& states) {
  std::set<std::uint8_t> out;
  for (std::size_t s = 0; s < states.size(); ++s) out.insert(states.look(s));
  return out;
}

/// All looks that young of the pair may have at the aims' loci.
std::vector<Kept> kept_young(const std::vector<Aim>& aims, const Candidate& sire, const Candidate& dam) {
  std::vector<Kept> out{Kept{}};
  for (std::size_t i = 0; i < aims.size(); ++i) {
    const States& states = aims[i].states();
    BySex<std::vector<double>> young;
    for (const Sex sex : kSexes) young.of(sex) = aims[i].young(sire.genes[i], dam.genes[i], sex);
    std::vector<Kept> next;
    for (const Kept& kept : out) {
      for (const std::uint8_t look : looks_of(states)) {
        Kept longer = kept;
        for (const Sex sex : kSexes) {
          const double chance = chance_of_look(states, young.of(sex), look);
          longer.side.of(sex).chance *= chance;
          longer.side.of(sex).genes.push_back(given_look(states, young.of(sex), look, chance));
        }
        if (longer.chance() <= kLeast) continue;
        if (look != 0) longer.looks.push_back({aims[i].part().locus, look});
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
    gather(males, Sex::male);
    gather(females, Sex::female);
    // Mates that alone have most of what is wanted.
    std::sort(mates_.begin(), mates_.end(), [](const Mate& a, const Mate& b) {
      return std::pair(-a.value, a.who->animal) < std::pair(-b.value, b.who->animal);
    });
    if (mates_.size() > kMostMates) mates_.resize(kMostMates);
  }

  void try_all(const Pairing& first, std::vector<TwoSteps>& out) const {
    for (const Kept& kept : kept_young(aims_, *first.sire, *first.dam)) {
      const TwoSteps base{
          .sire = first.sire->animal, .dam = first.dam->animal, .keep = kept.looks, .keep_each = kept.chance()};
      add_siblings(base, kept, out);
      add_mate(base, TwoSteps::Second::back_to_sire, kept, {0, first.sire, Sex::male}, out);
      add_mate(base, TwoSteps::Second::back_to_dam, kept, {0, first.dam, Sex::female}, out);
      for (const Mate& mate : mates_) {
        if (mate.who != first.sire && mate.who != first.dam) add_mate(base, TwoSteps::Second::other, kept, mate, out);
      }
    }
  }

 private:
  struct Mate {
    double value = 0;
    const Candidate* who = nullptr;
    Sex sex = Sex::unknown;
  };

  void gather(const std::vector<Candidate>& animals, Sex sex) {
    for (const Candidate& one : animals) {
      const Genes other = partner_like(one, sex);
      const double value =
          sex == Sex::male ? chance_of_all(aims_, one.genes, other) : chance_of_all(aims_, other, one.genes);
      if (value > kLeast || aims_.size() > 1) mates_.push_back({value, &one, sex});
    }
  }

  /// Of the other sex: with the same genes; at sex-linked loci, where it cannot have the same, with any.
  Genes partner_like(const Candidate& one, Sex sex) const {
    Genes out = one.genes;
    for (std::size_t i = 0; i < aims_.size(); ++i) {
      const States& states = aims_[i].states();
      if (!states.sex_matters()) continue;
      const StateMask others = states.of_sex(sex == Sex::male ? Sex::female : Sex::male) & states.viable();
      for (std::size_t s = 0; s < out[i].size(); ++s)
        out[i][s] = ((others >> s) & 1) != 0 ? 1 / static_cast<double>(std::popcount(others)) : 0;
    }
    return out;
  }

  /// Kept are a brother and a sister: young are hatched until both are there.
  void add_siblings(const TwoSteps& base, const Kept& kept, std::vector<TwoSteps>& out) const {
    const auto& [sons, daughters] = kept.side;
    if (sons.chance <= kLeast || daughters.chance <= kLeast) return;
    const double until = 1 / sons.chance + 1 / daughters.chance - 1 / kept.chance();
    add(base, TwoSteps::Second::siblings, kNobody, chance_of_all(aims_, sons.genes, daughters.genes), until, out);
  }

  /// Kept is one of the other sex than its mate.
  void add_mate(const TwoSteps& base, TwoSteps::Second second, const Kept& kept, const Mate& mate,
                std::vector<TwoSteps>& out) const {
    const bool sire = mate.sex == Sex::male;
    const Kept::Side& side = sire ? kept.side.daughters : kept.side.sons;
    if (side.chance <= kLeast) return;
    const double each =
        sire ? chance_of_all(aims_, mate.who->genes, side.genes) : chance_of_all(aims_, side.genes, mate.who->genes);
    add(base, second, mate.who->animal, each, 1 / side.chance, out);
  }

  static void add(TwoSteps base, TwoSteps::Second second, AnimalIndex mate, double each, double first_young,
                  std::vector<TwoSteps>& out) {
    if (each <= kLeast) return;
    base.each = each;
    base.second = second;
    base.mate = mate;
    base.young = first_young + 1 / each;
    out.push_back(std::move(base));
  }

  const std::vector<Aim>& aims_;
  std::vector<Mate> mates_;
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
