// What must not matter: the order of statements, saying a sure thing twice, how animals are numbered, and whether a
// clutch was there from the start or came later.
#include <algorithm>
#include <iostream>
#include <numeric>
#include <random>

#include "tests/support/genetics_world.h"

using namespace rackside::core::genetics;
using namespace rackside::tests;

namespace {

const std::string kCatalogue =
    "sexes ZW\nthink-so 0.9\n"
    "locus one\nmemory a test\nallele amel, recessive\n"
    "locus two\nmemory a test\nallele motley, recessive\nallele stripe, recessive\npair motley, stripe, motley\n"
    "mistaken motley, stripe, 0.1\n"
    "locus three\nmemory a test\nlinkage sex-linked 0.2\nallele glow, incomplete, super glow\n"
    "locus four\nmemory a test\nallele yellow, dominant\nlethal yellow, yellow\n";

/// Founders, and clutches bred from all before; looks of true genotypes are not simulated, so some cases cannot be.
Tale random_tale(std::mt19937& random) {
  Tale tale(kCatalogue);
  const auto below = [&](std::size_t n) { return static_cast<std::size_t>(random() % n); };
  const char* alleles[] = {"amel", "motley", "stripe", "glow", "yellow"};
  std::vector<AnimalIndex> males;
  std::vector<AnimalIndex> females;
  for (int i = 0; i < 3; ++i) {
    males.push_back(tale.male());
    females.push_back(tale.female());
    for (AnimalIndex one : {males.back(), females.back()}) {
      const char* allele = alleles[below(5)];
      below(2) ? tale.possible(one, allele, 2 / 3.0) : tale.het(one, allele);
    }
  }
  for (int clutch = 0; clutch < 4; ++clutch) {
    Siring siring{{{males[below(males.size())], 1}}, 0};
    const AnimalIndex other = males[below(males.size())];
    if (below(2) && other != siring.possible[0].sire) siring.possible.push_back({other, 0.5});
    tale.collection.sirings.push_back(siring);
    const AnimalIndex dam = females[below(females.size())];
    for (int i = 0; i < 3; ++i) {
      const Sex sex = i == 2 ? Sex::unknown : i == 1 ? Sex::female : Sex::male;
      const auto animal = static_cast<AnimalIndex>(tale.collection.animals.size());
      tale.collection.animals.push_back(
          {.sex = sex, .dam = dam, .siring = static_cast<SiringIndex>(tale.collection.sirings.size() - 1)});
      if (sex == Sex::male) males.push_back(animal);
      if (sex == Sex::female) females.push_back(animal);
      if (below(2)) {
        tale.collection.statements.push_back({.animal = animal,
                                              .says = Says::nothing_else,
                                              .certainty = below(2) ? Certainty::sure : Certainty::think_so});
      } else {
        tale.collection.statements.push_back(
            {.animal = animal, .certainty = Certainty::think_so, .options = {{1, 1, 0, 0}}});
      }
    }
  }
  return tale;
}

double difference(const Inference& a, const Inference& b, const std::vector<AnimalIndex>& number) {
  double out = 0;
  for (AnimalIndex i = 0; i < number.size(); ++i) {
    for (std::uint16_t locus = 0; locus < a.species().loci.size(); ++locus) {
      const auto x = a.odds(i, locus);
      const auto y = b.odds(number[i], locus);
      if (x.size() != y.size()) return 1;
      for (std::size_t g = 0; g < x.size(); ++g) out = std::max(out, std::abs(x[g] - y[g]));
      if (!x.empty()) out = std::max(out, std::abs(std::accumulate(x.begin(), x.end(), 0.0) - 1));
    }
  }
  return out;
}

std::vector<AnimalIndex> same_numbers(std::size_t count) {
  std::vector<AnimalIndex> out(count);
  std::iota(out.begin(), out.end(), 0u);
  return out;
}

}  // namespace

TEST_CASE(
    "odds do not depend on order, repetition or numbering, and a clutch that comes later counts as from the start") {
  constexpr std::uint32_t kFirst = 20260303;
  std::cout << "collections from seed " << kFirst << " on" << std::endl;
  for (std::uint32_t seed = kFirst; seed < kFirst + 300; ++seed) {
    INFO("seed " << seed);
    std::mt19937 random(seed);
    const Tale tale = random_tale(random);
    const Inference straight = tale.infer();
    const std::size_t count = tale.collection.animals.size();
    REQUIRE(difference(straight, straight, same_numbers(count)) < 1e-12);

    Tale shuffled = tale;
    std::shuffle(shuffled.collection.statements.begin(), shuffled.collection.statements.end(), random);
    const auto said = shuffled.collection.statements;
    for (const Statement& one : said) {
      if (one.certainty == Certainty::sure) shuffled.collection.statements.push_back(one);
    }
    REQUIRE(difference(straight, shuffled.infer(), same_numbers(count)) < 1e-12);

    std::vector<AnimalIndex> number = same_numbers(count);
    std::shuffle(number.begin(), number.end(), random);
    Tale renumbered = tale;
    for (AnimalIndex i = 0; i < count; ++i) {
      Animal animal = tale.collection.animals[i];
      if (animal.dam != kNobody) animal.dam = number[animal.dam];
      renumbered.collection.animals[number[i]] = animal;
    }
    for (Siring& siring : renumbered.collection.sirings) {
      for (PossibleSire& one : siring.possible) one.sire = number[one.sire];
    }
    for (Statement& one : renumbered.collection.statements) one.animal = number[one.animal];
    REQUIRE(difference(straight, renumbered.infer(), number) < 1e-12);

    Inference grown(tale.species);
    Collection part;
    for (std::size_t animals = 6; animals <= count; animals += 3) {
      part.animals.assign(tale.collection.animals.begin(),
                          tale.collection.animals.begin() + static_cast<std::ptrdiff_t>(animals));
      part.sirings.assign(tale.collection.sirings.begin(),
                          tale.collection.sirings.begin() + static_cast<std::ptrdiff_t>((animals - 6) / 3));
      part.statements.clear();
      for (const Statement& one : tale.collection.statements) {
        if (one.animal < animals) part.statements.push_back(one);
      }
      animals == 6 ? grown.load(part) : grown.extend(part);
    }
    REQUIRE(difference(straight, grown, same_numbers(count)) < 1e-12);
  }
}
