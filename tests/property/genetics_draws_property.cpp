// A collection that is solved exactly, and again by drawing: as far apart as the error says, also after one more clutch
// that the kept draws are weighed by.
#include <cmath>
#include <iostream>
#include <random>

#include "core/genetics/pairing.h"
#include "tests/support/genetics_world.h"

using namespace rackside::core::genetics;
using rackside::tests::Tale;

namespace {

constexpr const char* kCatalogue =
    "sexes ZW\npractice invented\nlocus one\nmemory invented\nallele amel, recessive\nlocus two\nmemory invented\n"
    "allele anery, recessive\nlocus three\nmemory invented\nallele motley, recessive\nallele stripe, recessive\n"
    "pair motley, stripe, motley\n";

/// Generations of possible carriers mated with each other, all of whose young look normal; one clutch in six has two
/// possible sires.
class Herd {
 public:
  explicit Herd(unsigned seed) : random_(seed), tale(kCatalogue) {
    for (int i = 0; i < 4; ++i) {
      sires_.push_back(tale.male());
      dams_.push_back(tale.female());
      for (const Tale::Index animal : {sires_.back(), dams_.back()}) {
        tale.possible(animal, i % 2 ? "amel" : "anery", 2 / 3.0);
        tale.possible(animal, i % 2 ? "motley" : "stripe", 0.5);
        tale.looks_normal(animal);
      }
    }
    for (int generation = 0; generation < 3; ++generation) breed();
  }

  void clutch(Tale::Index sire, Tale::Index dam, std::vector<Tale::Index>& sons, std::vector<Tale::Index>& daughters) {
    Siring siring{{{sire, 1}}, 0};
    if (below(6) == 0) siring.possible.push_back({sires_[below(4)], 1});
    if (siring.possible.back().sire == sire) siring.possible.resize(1);
    tale.collection.sirings.push_back(siring);
    for (int i = 0; i < 6; ++i) {
      const auto young = static_cast<Tale::Index>(tale.collection.animals.size());
      tale.collection.animals.push_back({.sex = i % 2 ? Sex::male : Sex::female,
                                         .dam = dam,
                                         .siring = static_cast<SiringIndex>(tale.collection.sirings.size() - 1)});
      tale.looks_normal(young);
      (i % 2 ? sons : daughters).push_back(young);
    }
  }
  Tale::Index sire() { return sires_[below(4)]; }
  Tale::Index dam() { return dams_[below(4)]; }

 private:
  unsigned below(unsigned limit) { return static_cast<unsigned>(random_() % limit); }
  void breed() {
    std::vector<Tale::Index> sons;
    std::vector<Tale::Index> daughters;
    for (int i = 0; i < 6; ++i) clutch(sires_[below(4)], dams_[below(4)], sons, daughters);
    for (int i = 0; i < 4; ++i) {
      sires_[i] = sons[below(static_cast<unsigned>(sons.size()))];
      dams_[i] = daughters[below(static_cast<unsigned>(daughters.size()))];
    }
  }
  std::mt19937 random_;

 public:
  Tale tale;

 private:
  std::vector<Tale::Index> sires_, dams_;
};

/// How far what is said of pairs is from the exact answer.
struct Pairs {
  int all = 0;
  int within_two = 0;
  int wanted = 0;
  int wanted_within_two = 0;
  double farthest = 0;

  void compare(const Inference& exact, const Inference& drawn, Tale::Index sire, Tale::Index dam) {
    const Forecast right = forecast(exact, sire, dam);
    const Forecast said = forecast(drawn, sire, dam);
    REQUIRE(right.unanswered.empty());
    REQUIRE(right.error == 0);
    REQUIRE(said.unanswered.empty());
    if (said.error == 0) return;
    double sum = said.rest;
    for (const LookRow& row : said.rows) sum += row.chance;
    CHECK(std::abs(sum - 1) < 1e-4);
    double off = 0;
    for (const LookRow& row : right.rows) off = std::max(off, std::abs(row.chance - chance_of(said, row)));
    ++all;
    within_two += off <= 2 * said.error + 1e-6;
    farthest = std::max(farthest, off);
    for (std::uint16_t locus = 0; locus < 2; ++locus) {
      const Part part[] = {{locus, 1}};
      const auto exactly = clutch_odds(exact, sire, dam, part, 8);
      const auto about = clutch_odds(drawn, sire, dam, part, 8);
      REQUIRE(exactly);
      REQUIRE(about);
      CHECK(exactly->error == 0);
      ++wanted;
      wanted_within_two += std::abs(exactly->at_least_one - about->at_least_one) <= 2 * about->error + 1e-6;
    }
  }

 private:
  static double chance_of(const Forecast& forecast, const LookRow& wanted) {
    for (const LookRow& row : forecast.rows) {
      const bool same = std::equal(row.looks.begin(), row.looks.end(), wanted.looks.begin(), wanted.looks.end(),
                                   [](const Part& a, const Part& b) { return a.locus == b.locus && a.look == b.look; });
      if (same) return row.chance;
    }
    return 0;
  }
};

struct Tally {
  int within_two = 0;
  int all = 0;
  double farthest = 0;
};

void compare(const Inference& exact, const Inference& drawn, Tally& tally) {
  for (AnimalIndex animal = 0; animal < exact.animals(); ++animal) {
    for (std::uint16_t locus = 0; locus < exact.species().loci.size(); ++locus) {
      if (drawn.way(animal, locus) != Way::sampled) continue;
      const auto right = exact.odds(animal, locus);
      const auto said = drawn.odds(animal, locus);
      REQUIRE(right.size() == said.size());
      double off = 0;
      double sum = 0;
      for (std::size_t i = 0; i < right.size(); ++i) {
        off = std::max(off, std::abs(right[i] - said[i]));
        sum += said[i];
      }
      CHECK(std::abs(sum - 1) < 1e-9);
      tally.within_two += off <= 2 * drawn.error(animal, locus);
      tally.farthest = std::max(tally.farthest, off);
      ++tally.all;
    }
  }
}

}  // namespace

TEST_CASE("drawn odds of a whole collection are as near to the exact ones as they say, also after one more clutch") {
  Tally loaded;
  Tally extended;
  for (unsigned seed = 1; seed <= 6; ++seed) {
    Herd herd(seed);
    Inference exact(herd.tale.species);
    Inference drawn(herd.tale.species, {.largest_table = 16});
    exact.load(herd.tale.collection);
    drawn.load(herd.tale.collection);
    REQUIRE(drawn.effort().sampled > 0);
    compare(exact, drawn, loaded);
    std::vector<Tale::Index> young;
    herd.clutch(herd.sire(), herd.dam(), young, young);
    exact.load(herd.tale.collection);
    drawn.extend(herd.tale.collection);
    compare(exact, drawn, extended);
  }
  std::cout << loaded.within_two << " of " << loaded.all << " drawn odds within two standard errors, at most "
            << loaded.farthest << " off; after one more clutch " << extended.within_two << " of " << extended.all
            << ", " << extended.farthest << std::endl;
  CHECK(loaded.all > 500);
  CHECK(extended.all >= loaded.all);
  CHECK(loaded.within_two >= loaded.all * 80 / 100);
  CHECK(extended.within_two >= extended.all * 80 / 100);
  CHECK(loaded.farthest < 0.08);
  CHECK(extended.farthest < 0.12);
}

TEST_CASE("what a pair inside a drawn family may give is as near to the exact forecast as its error says") {
  Pairs pairs;
  for (unsigned seed = 1; seed <= 8; ++seed) {
    Herd herd(seed);
    Inference exact(herd.tale.species);
    Inference drawn(herd.tale.species, {.largest_table = 16});
    exact.load(herd.tale.collection);
    drawn.load(herd.tale.collection);
    for (int i = 0; i < 6; ++i) pairs.compare(exact, drawn, herd.sire(), herd.dam());
  }
  std::cout << pairs.within_two << " of " << pairs.all << " forecasts within two standard errors, at most "
            << pairs.farthest << " off; at least one: " << pairs.wanted_within_two << " of " << pairs.wanted
            << std::endl;
  CHECK(pairs.all > 20);
  CHECK(pairs.within_two >= pairs.all * 80 / 100);
  CHECK(pairs.wanted_within_two >= pairs.wanted * 80 / 100);
  CHECK(pairs.farthest < 0.05);
}
