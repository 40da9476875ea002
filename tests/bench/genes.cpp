#include <algorithm>
#include <cmath>
#include <cstdio>

#include "core/genetics/inference.h"
#include "tests/bench/benchmarks.h"
#include "tests/bench/genes_collection.h"

namespace rackside::bench {
namespace {

using namespace core::genetics;

/// What is done by hand: each animal's chance of carrying is half the sum of its parents', locus by locus.
double multiply_percentages(const GenesCollection& made) {
  const auto& animals = made.collection.animals;
  std::vector<double> carries(animals.size());
  double sum = 0;
  for (std::size_t locus = 0; locus < made.species->loci.size(); ++locus) {
    for (std::size_t i = 0; i < animals.size(); ++i) {
      const Animal& one = animals[i];
      carries[i] = one.dam == kNobody
                       ? 2 / 3.0
                       : (carries[one.dam] + carries[made.collection.sirings[one.siring].possible[0].sire]) / 2;
      sum += carries[i];
    }
  }
  return sum;
}

void tell(const char* name, const Inference& inference) {
  const auto& effort = inference.effort();
  std::fprintf(stderr,
               "%s: %zu components, %zu variables, largest table 2^%.0f, %zu too wide and drawn, %zu problems\n", name,
               effort.components, effort.variables, std::log2(std::max(1.0, static_cast<double>(effort.largest_table))),
               effort.sampled, inference.problems().size());
}

Row from_scratch(const std::string& name, const GenesPlan& plan) {
  const GenesCollection made = make_genes(plan);
  Inference inference(made.species);
  volatile double kept = 0;
  Row row = compare(
      name, 3, [&] { inference.load(made.collection); }, [&] { kept = kept + multiply_percentages(made); });
  tell(name.c_str(), inference);
  return row;
}

Row one_more_clutch(const std::string& name, const GenesPlan& plan) {
  const GenesCollection made = make_genes(plan);
  Collection before = made.collection;
  before.animals.resize(made.before_last_clutch);
  before.sirings.resize(made.sirings_before);
  before.statements.resize(made.statements_before);
  Row row{.name = name, .unit = "ms"};
  std::vector<double> times;
  std::vector<double> floors;
  volatile double kept = 0;
  for (int round = 0; round < 3; ++round) {
    Inference inference(made.species);
    inference.load(before);
    times.push_back(milliseconds_of([&] {
      inference.extend(made.collection);
      // What the keeper then asks: the odds of the clutch.
      for (auto i = made.before_last_clutch; i < made.collection.animals.size(); ++i) {
        for (std::uint16_t locus = 0; locus < plan.loci; ++locus)
          kept = kept + inference.odds(static_cast<AnimalIndex>(i), locus)[0];
      }
    }));
    floors.push_back(milliseconds_of([&] { kept = kept + multiply_percentages(made); }));
    if (round == 2) tell(name.c_str(), inference);
  }
  row.ours = median(times);
  row.floor = median(floors);
  return row;
}

}  // namespace

/// The floor is the naive computation, which is wrong but linear; a collection of a tenth shows what exact costs.
std::vector<Row> genes_10k(Stage&) {
  return {from_scratch("genes-1k", {.animals = 1000}), from_scratch("genes-10k", {})};
}

void reckon_genes(unsigned animals, bool odds) {
  const GenesCollection made = make_genes({.animals = animals});
  Inference inference(made.species);
  if (odds) inference.load(made.collection);
}

std::vector<Row> genes_peak(Stage&) {
  constexpr double kMib = 1024;
  const std::size_t ours = peak_of_child({"--genes", "10000"});
  const std::size_t floor = peak_of_child({"--genes-made", "10000"});
  return {{"genes-10k-peak", static_cast<double>(ours) / kMib, static_cast<double>(floor) / kMib, "MiB"}};
}

/// Against animals, loci and generations, which make the loops; tests/bench/plot draws it.
std::vector<Row> genes_scaling(Stage&) {
  std::vector<Row> out;
  const auto add = [&](const GenesPlan& plan) {
    out.push_back(from_scratch("genes@" + std::to_string(plan.animals) + "x" + std::to_string(plan.loci) + "x" +
                                   std::to_string(plan.generations),
                               plan));
  };
  for (unsigned animals : {1000, 2000, 5000, 10'000, 20'000}) add({.animals = animals});
  for (unsigned loci : {10, 20, 80}) add({.loci = loci});
  for (unsigned generations : {4, 8}) add({.generations = generations});
  return out;
}

std::vector<Row> genes_clutch(Stage&) {
  return {one_more_clutch("genes-clutch-1k", {.animals = 1000}), one_more_clutch("genes-clutch", {})};
}

/// The floor is one pass that numbers the generations.
std::vector<Row> kin_100k(Stage&) {
  const auto parents = make_pedigree(100'000);
  volatile double kept = 0;
  return {compare(
      "kin-100k", 3, [&] { kept = kept + Kinship(parents).inbreeding(99'999); },
      [&] {
        std::vector<unsigned> generation(parents.size());
        for (std::size_t i = 0; i < parents.size(); ++i) {
          if (parents[i].sire != kNobody) {
            generation[i] = 1 + std::max(generation[parents[i].sire], generation[parents[i].dam]);
          }
        }
        kept = kept + generation.back();
      })};
}

}  // namespace rackside::bench
