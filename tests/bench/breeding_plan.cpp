#include <algorithm>
#include <array>

#include "core/genetics/inference.h"
#include "core/genetics/plan.h"
#include "tests/bench/benchmarks.h"
#include "tests/bench/genes_collection.h"

namespace rackside::bench {
namespace {

using namespace core::genetics;

constexpr std::size_t kOfEach = 500;
constexpr std::size_t kWantedLoci = 5;

std::vector<AnimalIndex> newest_of(const Collection& collection, Sex sex) {
  std::vector<AnimalIndex> out;
  for (std::size_t i = collection.animals.size(); i-- > 0 && out.size() < kOfEach;) {
    if (collection.animals[i].sex == sex) out.push_back(static_cast<AnimalIndex>(i));
  }
  return out;
}

/// The chance that an animal passes on the first allele of a locus, by its own odds alone.
double passes(const Inference& inference, AnimalIndex animal, std::uint16_t locus) {
  const auto odds = inference.odds(animal, locus);
  double out = 0;
  for (std::size_t i = 0; i < odds.size(); ++i) out += odds[i] * inference.states(locus).copies(i, 1) / 2.0;
  return out;
}

/// What is done by hand: both parents' chances of passing each gene on, multiplied for every pair.
double multiply_pairs(const Inference& inference, const std::vector<AnimalIndex>& males,
                      const std::vector<AnimalIndex>& females, const std::vector<Part>& wanted) {
  const auto table = [&](const std::vector<AnimalIndex>& animals) {
    std::vector<std::array<double, kWantedLoci>> out(animals.size());
    for (std::size_t i = 0; i < animals.size(); ++i) {
      for (std::size_t at = 0; at < kWantedLoci; ++at) out[i][at] = passes(inference, animals[i], wanted[at].locus);
    }
    return out;
  };
  const auto he = table(males);
  const auto she = table(females);
  double best = 0;
  for (const auto& sire : he) {
    for (const auto& dam : she) {
      double all = 1;
      for (std::size_t at = 0; at < kWantedLoci; ++at) all *= sire[at] * dam[at];
      best = std::max(best, all);
    }
  }
  return best;
}

/// The looks of the genes that these animals have most of, so that there is something to plan.
std::vector<Part> commonest(const Inference& inference, const std::vector<AnimalIndex>& males,
                            const std::vector<AnimalIndex>& females) {
  std::vector<std::pair<double, std::uint16_t>> loci;
  for (std::uint16_t locus = 0; locus < inference.species().loci.size(); ++locus) {
    double sum = 0;
    for (const auto* animals : {&males, &females}) {
      for (AnimalIndex animal : *animals) sum += passes(inference, animal, locus);
    }
    loci.emplace_back(-sum, locus);
  }
  std::sort(loci.begin(), loci.end());
  std::vector<Part> out;
  for (std::size_t at = 0; at < kWantedLoci; ++at) {
    const Locus& locus = inference.species().loci[loci[at].second];
    out.push_back({loci[at].second, locus.pair(1, 1).look});
  }
  return out;
}

}  // namespace

/// The floor multiplies percentages: wrong for relatives, and for one generation only.
std::vector<Row> breeding_plan(Stage&) {
  const GenesCollection made = make_genes({.animals = 2000, .generations = 4});
  Inference inference(made.species);
  inference.load(made.collection);
  const auto males = newest_of(made.collection, Sex::male);
  const auto females = newest_of(made.collection, Sex::female);
  const std::vector<Part> wanted = commonest(inference, males, females);
  volatile double kept = 0;
  return {compare(
      "plan", 3, [&] { kept = kept + static_cast<double>(plan(inference, males, females, wanted).steps.size()); },
      [&] { kept = kept + multiply_pairs(inference, males, females, wanted); })};
}

}  // namespace rackside::bench
