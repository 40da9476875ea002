// Exact odds against an enumeration of all genotypes, over thousands of small random pedigrees.
#include <cstdlib>
#include <iostream>
#include <random>

#include "core/genetics/inference.h"
#include "tests/support/catch.h"
#include "tests/support/genetics_enumerator.h"

using namespace rackside::core::genetics;
using namespace rackside::tests;

namespace {

using Random = std::mt19937;

std::size_t below(Random& random, std::size_t limit) {
  return random() % limit;
}
bool one_in(Random& random, std::size_t n) {
  return below(random, n) == 0;
}

Locus random_locus(Random& random, bool sex_linked) {
  Locus out;
  out.name = "locus";
  const std::size_t k = 2 + one_in(random, 3);
  out.looks = {"normal", "one", "two"};
  for (std::size_t i = 0; i < k; ++i) {
    out.alleles.push_back({.name = std::to_string(i)});
    if (i > 0) out.alleles.back().frequency = 0.1 + 0.1 * static_cast<double>(below(random, 3));
  }
  for (std::size_t i = 0; i < k * (k + 1) / 2; ++i) {
    Pair pair{.look = static_cast<std::uint8_t>(i == 0 ? 0 : below(random, 3)), .defined = true};
    pair.viable = i == 0 || !one_in(random, 6);
    out.pairs.push_back(pair);
  }
  if (one_in(random, 2)) out.mistakes = {{0, 1, 0.1}, {1, 0, 0.2}, {1, 2, 0.15}};
  if (sex_linked) {
    out.linkage = one_in(random, 2) ? Linkage::hemizygous : Linkage::sex_linked;
    out.recombination = 0.1 * static_cast<double>(below(random, 6));
  }
  return out;
}

std::shared_ptr<Species> random_species(Random& random) {
  auto out = std::make_shared<Species>();
  out->sexes = one_in(random, 2) ? SexSystem::xy : SexSystem::zw;
  const std::size_t loci = 1 + below(random, 3);
  for (std::size_t i = 0; i < loci; ++i) out->loci.push_back(random_locus(random, one_in(random, 2)));
  if (loci > 1 && one_in(random, 2)) {
    const auto hidden = static_cast<std::uint8_t>(1 + below(random, 2));
    out->hidings.push_back({.shows = {0, 1}, .hidden = {1, hidden}, .source = {}});
  }
  return out;
}

void add_parents(Random& random, Collection& collection, Animal& animal) {
  std::vector<AnimalIndex> males;
  std::vector<AnimalIndex> females;
  for (AnimalIndex i = 0; i < collection.animals.size(); ++i) {
    if (collection.animals[i].sex == Sex::male) males.push_back(i);
    if (collection.animals[i].sex == Sex::female) females.push_back(i);
  }
  if (males.empty() || females.empty() || (collection.animals.size() < 4 && one_in(random, 2))) return;
  if (!collection.sirings.empty() && one_in(random, 2)) {
    // A clutch-mate, or another female's young of the same unknown one of several males.
    animal.siring = static_cast<SiringIndex>(below(random, collection.sirings.size()));
    animal.dam = females[below(random, females.size())];
    return;
  }
  Siring siring;
  siring.possible.push_back({males[below(random, males.size())], 1});
  if (males.size() > 1 && one_in(random, 2)) {
    const AnimalIndex other = males[below(random, males.size())];
    if (other != siring.possible[0].sire) siring.possible.push_back({other, 0.5});
  }
  animal.siring = static_cast<SiringIndex>(collection.sirings.size());
  collection.sirings.push_back(siring);
  animal.dam = females[below(random, females.size())];
}

Option random_option(Random& random, const Species& species) {
  const auto locus = static_cast<std::uint16_t>(below(random, species.loci.size()));
  const std::size_t k = species.loci[locus].alleles.size();
  return {locus, static_cast<std::uint8_t>(below(random, 3)), static_cast<AlleleIndex>(1 + below(random, k - 1)),
          static_cast<AlleleIndex>(below(random, k))};
}

Statement random_statement(Random& random, const Species& species, AnimalIndex animal, std::uint32_t author) {
  static constexpr Says kSays[] = {Says::looks,   Says::looks, Says::looks,    Says::unseen,   Says::nothing_else,
                                   Says::carries, Says::het,   Says::possible, Says::genotype, Says::free_of};
  Statement out{
      .animal = animal, .basis = Basis::bought, .says = kSays[below(random, std::size(kSays))], .author = author};
  out.certainty = one_in(random, 3)   ? Certainty::sure
                  : one_in(random, 8) ? Certainty::cannot_tell
                                      : Certainty::think_so;
  out.chance = out.says == Says::possible ? 2 / 3.0 : one_in(random, 2) ? 1 : 0.9;
  if (out.says == Says::nothing_else) return out;
  out.options.push_back(random_option(random, species));
  // The name of several genes, or what the eye could not decide between.
  if (one_in(random, 3)) out.options.push_back(random_option(random, species));
  out.one_name = out.says != Says::looks || one_in(random, 2);
  const auto elsewhere = [&](const Option& option) { return option.locus != out.options.front().locus; };
  if (out.says != Says::looks && out.says != Says::unseen &&
      !std::any_of(out.options.begin(), out.options.end(), elsewhere))
    out.options.resize(1);
  return out;
}

Collection random_collection(Random& random, const Species& species) {
  Collection out;
  const std::size_t count = 3 + below(random, 4);
  for (std::size_t i = 0; i < count; ++i) {
    Animal animal{.sex = i % 2 ? Sex::female : Sex::male};
    if (i > 1 && one_in(random, 3)) animal.sex = Sex::unknown;
    add_parents(random, out, animal);
    out.animals.push_back(animal);
  }
  const std::size_t said = 1 + below(random, 5);
  for (std::uint32_t i = 0; i < said; ++i) {
    // Two by one author: what he could not tell he did not see either.
    out.statements.push_back(
        random_statement(random, species, static_cast<AnimalIndex>(below(random, count)), i / 2 + 1));
    const std::size_t so_far = out.statements.size();
    if (so_far > 1 && same_statement(out.statements[so_far - 2], out.statements.back())) out.statements.pop_back();
  }
  return out;
}

std::uint32_t first_seed() {
  const char* given = std::getenv("RACKSIDE_SEED");
  return given ? static_cast<std::uint32_t>(std::stoul(given)) : 20260101;
}

double largest_difference(const Inference& inference, const Enumerated& expected) {
  double out = 0;
  for (AnimalIndex animal = 0; animal < expected.odds.size(); ++animal) {
    for (std::uint16_t locus = 0; locus < expected.odds[animal].size(); ++locus) {
      const auto odds = inference.odds(animal, locus);
      if (odds.empty()) return 1;
      for (std::size_t i = 0; i < odds.size(); ++i)
        out = std::max(out, std::abs(odds[i] - expected.odds[animal][locus][i]));
    }
  }
  return out;
}

}  // namespace

TEST_CASE(
    "odds equal an enumeration of all genotypes, with series, sexes, misreading, possible sires, lethals and names of "
    "several genes") {
  constexpr int kWanted = 2400;
  int compared = 0;
  int impossible = 0;
  int several = 0;
  std::uint32_t seed = first_seed();
  std::cout << "pedigrees from seed " << seed << " on (RACKSIDE_SEED repeats)" << std::endl;
  for (; compared < kWanted; ++seed) {
    Random random(seed);
    const auto species = random_species(random);
    const Collection collection = random_collection(random, *species);
    const Settings settings;
    const Enumerated expected = enumerate(*species, collection, settings);
    Inference inference(species, settings);
    inference.load(collection);
    INFO("seed " << seed);
    if (!(expected.sum > 0)) {
      ++impossible;
      REQUIRE_FALSE(inference.problems().empty());
      continue;
    }
    ++compared;
    several += std::any_of(collection.statements.begin(), collection.statements.end(), [](const Statement& one) {
      return one.says != Says::looks && one.says != Says::unseen && one.options.size() > 1;
    });
    REQUIRE(inference.problems().empty());
    REQUIRE(largest_difference(inference, expected) < 1e-12);
    for (SiringIndex i = 0; i < collection.sirings.size(); ++i) {
      const auto odds = inference.siring(i);
      for (std::size_t s = 0; s < odds.size(); ++s) REQUIRE(std::abs(odds[s] - expected.sirings[i][s]) < 1e-12);
    }
  }
  CHECK(several > 200);
  std::cout << compared << " compared, " << impossible << " that cannot be" << std::endl;
  CHECK(impossible > 20);
}
