// Published and exact values, each named with its source.
#include <cmath>

#include "core/genetics/kinship.h"
#include "core/genetics/pairing.h"
#include "tests/support/genetics_world.h"

using namespace rackside::core::genetics;
using namespace rackside::tests;

namespace {

const std::string kRecessive = "locus one\nmemory a test\nallele amel, recessive\n";
constexpr double kTwoThirds = 2 / 3.0;

/// The chance that a normal-looking young of these two carries, given its own look only.
double carrier_of(double sire, double dam) {
  Tale tale(kRecessive);
  const auto he = tale.male();
  const auto she = tale.female();
  for (const auto& [animal, chance] : {std::pair{he, sire}, std::pair{she, dam}}) {
    if (chance == 1) {
      tale.het(animal, "amel");
    } else if (chance == 0) {
      tale.free_of(animal, "amel");
    } else {
      tale.possible(animal, "amel", chance);
    }
  }
  const auto young = tale.young(he, she);
  tale.looks_normal(young);
  return tale.carries(tale.infer(), young, "amel");
}

/// The chance that the male carries after n normal young.
double after(double prior, unsigned n, bool visual_mate) {
  Tale tale(kRecessive);
  const auto he = tale.male();
  const auto she = tale.female();
  tale.possible(he, "amel", prior);
  if (visual_mate) {
    tale.visual(she, "amel");
  } else {
    tale.het(she, "amel");
  }
  // The rule that `prove` uses, and the young themselves, must agree.
  const auto foretold = carrier_after(tale.infer(), he, she, {0, 1}, n);
  for (unsigned i = 0; i < n; ++i) tale.looks_normal(tale.young(he, she));
  const double out = tale.carries(tale.infer(), he, "amel");
  CHECK(nearly(*foretold, out));
  return out;
}

}  // namespace

// The three that a hand reckoning falls into, first.

TEST_CASE("trap: two young of one possible carrier are not independent") {
  Tale tale(kRecessive);
  const auto he = tale.male();
  const auto she = tale.female();
  tale.possible(he, "amel", kTwoThirds);
  tale.free_of(she, "amel");
  const auto brother = tale.young(he, she, Sex::male);
  const auto sister = tale.young(he, she, Sex::female);
  tale.looks_normal(brother);
  tale.looks_normal(sister);
  const Part wanted[] = {{0, 1}};
  CHECK(nearly(clutch_odds(tale.infer(), brother, sister, wanted, 1)->each, 1 / 24.0));  // not 1/36
  CHECK(nearly(forecast(tale.infer(), brother, sister).loci.at(0).looks[1], 1 / 24.0));
}

TEST_CASE("trap: clutch-mates inform each other and their parents") {
  const auto odds = [](unsigned k) {
    Tale tale(kRecessive);
    const auto he = tale.male();
    const auto she = tale.female();
    tale.possible(he, "amel", kTwoThirds);
    tale.possible(she, "amel", kTwoThirds);
    for (unsigned i = 0; i < k; ++i) tale.looks_normal(tale.young(he, she));
    const Inference inference = tale.infer();
    return std::pair{tale.carries(inference, 2, "amel"), tale.carries(inference, she, "amel")};
  };
  // Printed to five decimals.
  const std::tuple<unsigned, double, double> expected[] = {
      {1, 0.5, 0.625}, {2, 0.48276, 0.58621}, {4, 0.45387, 0.52120}, {8, 0.41977, 0.44449}};
  for (const auto& [k, young, dam] : expected) {
    CHECK(std::abs(odds(k).first - young) < 5e-6);
    CHECK(std::abs(odds(k).second - dam) < 5e-6);
  }
  Tale tale(kRecessive);
  const auto he = tale.male();
  const auto she = tale.female();
  tale.possible(he, "amel", kTwoThirds);
  tale.possible(she, "amel", kTwoThirds);
  const auto normal = tale.young(he, she);
  tale.looks_normal(normal);
  tale.visual(tale.young(he, she), "amel");
  const Inference inference = tale.infer();
  CHECK(nearly(tale.carries(inference, he, "amel"), 1));
  CHECK(nearly(tale.carries(inference, she, "amel"), 1));
  CHECK(nearly(tale.carries(inference, normal, "amel"), kTwoThirds));
}

TEST_CASE("trap: what a sire passes on to sons depends on which of his parents gave it to him") {
  // Mallery & Carrillo 2016: the pattern; the recombination is any number, no figure was published.
  const double theta = 0.08;
  for (const bool from_father : {true, false}) {
    Tale tale("sexes XY\nlocus one\nmemory a test\nlinkage sex-linked 0.08\nallele glow, incomplete, super glow\n");
    const auto grandsire = tale.male();
    const auto granddam = tale.female();
    (from_father ? tale.het(grandsire, "glow") : tale.het(granddam, "glow"));
    const auto sire = tale.young(grandsire, granddam, Sex::male);
    const auto dam = tale.female();
    tale.het(sire, "glow");
    const auto son = tale.young(sire, dam, Sex::male);
    const auto daughter = tale.young(sire, dam, Sex::female);
    const Inference inference = tale.infer();
    CHECK(nearly(tale.carries(inference, son, "glow"), from_father ? 1 - theta : theta));
    CHECK(nearly(tale.carries(inference, daughter, "glow"), from_father ? theta : 1 - theta));
  }
}

TEST_CASE("normal-looking young carry with the exact odds of their parents") {
  // Exact arithmetic; the trade's "66 %" is 2/3.
  CHECK(nearly(carrier_of(1, 1), kTwoThirds));
  CHECK(nearly(carrier_of(1, 0), 0.5));
  CHECK(nearly(carrier_of(kTwoThirds, kTwoThirds), 0.5));
  CHECK(nearly(carrier_of(kTwoThirds, 0.5), 5 / 11.0));
  CHECK(nearly(carrier_of(kTwoThirds, 0), 1 / 3.0));
  CHECK(nearly(carrier_of(0.5, 0), 0.25));
}

TEST_CASE("each young without a visual makes a possible carrier less likely") {
  // p k^n / (p k^n + 1 - p); 1/9 at prior 1/2 after three is a printed genetic-counselling example.
  const double visual_from_66[] = {1 / 2.0, 1 / 3.0, 1 / 5.0, 1 / 9.0};
  const double visual_from_50[] = {1 / 3.0, 1 / 5.0, 1 / 9.0, 1 / 17.0};
  for (unsigned n = 1; n <= 4; ++n) {
    CHECK(nearly(after(kTwoThirds, n, true), visual_from_66[n - 1]));
    CHECK(nearly(after(0.5, n, true), visual_from_50[n - 1]));
  }
  CHECK(nearly(after(kTwoThirds, 1, false), 3 / 5.0));
  CHECK(nearly(after(kTwoThirds, 2, false), 9 / 17.0));
  CHECK(nearly(after(kTwoThirds, 4, false), 81 / 209.0));
  CHECK(nearly(after(kTwoThirds, 8, false), 6561 / 39329.0));
}

TEST_CASE("a mate that only may carry proves less") {
  // k^n becomes m (3/4)^n + 1 - m.
  Tale tale(kRecessive);
  const auto he = tale.male();
  const auto she = tale.female();
  tale.possible(he, "amel", kTwoThirds);
  tale.possible(she, "amel", 0.5);
  for (int i = 0; i < 5; ++i) tale.looks_normal(tale.young(he, she));
  const double factor = 0.5 * std::pow(0.75, 5) + 0.5;
  CHECK(nearly(tale.carries(tale.infer(), he, "amel"), kTwoThirds * factor / (kTwoThirds * factor + 1 / 3.0)));
}

TEST_CASE("at least one visual among the young of two hets") {
  Tale tale(kRecessive);
  const auto he = tale.male();
  const auto she = tale.female();
  tale.het(he, "amel");
  tale.het(she, "amel");
  const Inference inference = tale.infer();
  const Part wanted[] = {{0, 1}};
  for (unsigned n : {1u, 11u, 16u}) {
    CHECK(nearly(clutch_odds(inference, he, she, wanted, n)->at_least_one, 1 - std::pow(0.75, n)));
  }
  CHECK(std::abs(clutch_odds(inference, he, she, wanted, 11)->at_least_one - 0.9578) < 5e-5);
  CHECK(std::abs(clutch_odds(inference, he, she, wanted, 16)->at_least_one - 0.9900) < 5e-5);
}

TEST_CASE("an unaffected animal of a population with one affected in 10 000 carries with 2/101") {
  // A teaching example of Hardy and Weinberg: q = 0.01, carriers 0.0198.
  Tale tale("locus one\nmemory a test\nallele amel, recessive\nfrequency 0.01\n");
  const auto any = tale.male();
  const auto normal = tale.male();
  tale.looks_normal(normal);
  const Inference inference = tale.infer();
  CHECK(nearly(inference.odds(any, 0)[1], 0.0198));
  CHECK(nearly(inference.odds(any, 0)[2], 0.0001));
  CHECK(nearly(tale.carries(inference, normal, "amel"), 2 / 101.0));
}

TEST_CASE("a lethal double dose gives two to one among themselves and one to one with the wild type") {
  // The textbook case after Cuénot 1905.
  Tale tale("locus one\nmemory a test\nallele yellow, dominant\nlethal yellow, yellow\npractice a test\n");
  const auto he = tale.male();
  const auto she = tale.female();
  const auto wild = tale.female();
  tale.het(he, "yellow");
  tale.het(she, "yellow");
  const Inference inference = tale.infer();
  const Forecast among = forecast(inference, he, she);
  CHECK(nearly(among.loci.at(0).looks[1], kTwoThirds));
  CHECK(nearly(among.lost, 0.25));
  REQUIRE(among.harms.size() == 1);
  CHECK(among.harms[0].lethal);
  CHECK(nearly(among.harms[0].chance, 0.25));
  CHECK(nearly(forecast(inference, he, wild).loci.at(0).looks[1], 0.5));
}

namespace {

double chi_square(const std::vector<double>& seen, const std::vector<double>& shares) {
  double all = 0;
  for (double one : seen) all += one;
  double out = 0;
  for (std::size_t i = 0; i < seen.size(); ++i) {
    const double expected = all * shares[i];
    out += (seen[i] - expected) * (seen[i] - expected) / expected;
  }
  return out;
}

Forecast of_two_hets(const std::string& catalogue, const std::vector<std::string>& alleles) {
  Tale tale(catalogue);
  const auto he = tale.male();
  const auto she = tale.female();
  for (const std::string& allele : alleles) {
    tale.het(he, allele);
    tale.het(she, allele);
  }
  return forecast(tale.infer(), he, she);
}

}  // namespace

TEST_CASE("Mendel's counts fit what is foretold of two hets") {
  const auto looks = of_two_hets(kRecessive, {"amel"}).loci.at(0).looks;
  // Mendel 1866 (translation in Bateson; Theor Biol Med Model 1:4, table 1; the splits of the first two from memory).
  const std::vector<double> counts[] = {{5474, 1850}, {6022, 2001}, {705, 224}, {882, 299},
                                        {428, 152},   {651, 207},   {787, 277}};
  for (const auto& one : counts) CHECK(chi_square(one, looks) < 3.841);  // 5 % at one degree of freedom
}

TEST_CASE("Mendel's two characters together fit 9 : 3 : 3 : 1") {
  const Forecast both =
      of_two_hets(kRecessive + "locus two\nmemory a test\nallele anery, recessive\n", {"amel", "anery"});
  REQUIRE(both.rows.size() == 4);
  std::vector<double> shares;
  for (const LookRow& row : both.rows) shares.push_back(row.chance);
  CHECK(nearly(shares[0], 9 / 16.0));
  CHECK(nearly(shares[1], 3 / 16.0));
  CHECK(nearly(shares[3], 1 / 16.0));
  // Pierce, Genetics Essentials: 315, 108, 101, 32 of 556, chi-square 0.470.
  CHECK(std::abs(chi_square({315, 108, 101, 32}, shares) - 0.470) < 5e-4);
}

TEST_CASE("counts of linked characters fit one recombination, and refuse free assortment") {
  // Griffiths et al., An Introduction to Genetic Analysis: Drosophila pr and vg, a test cross, 1339 and 1195 like a
  // parent, 151 and 154 recombinant; 305/2839 = 10.743 %. What decides the sex stands here for the second character:
  // the one linkage that this project reckons with.
  Tale tale("sexes XY\nlocus one\nmemory a test\nlinkage sex-linked 0.10743\nallele glow, incomplete, super glow\n");
  const auto grandsire = tale.male();
  const auto granddam = tale.female();
  const auto dam = tale.female();
  tale.het(grandsire, "glow");
  const auto sire = tale.young(grandsire, granddam, Sex::male);
  tale.het(sire, "glow");
  const auto son = tale.young(sire, dam, Sex::male);
  const auto daughter = tale.young(sire, dam, Sex::female);
  const Inference inference = tale.infer();
  const double sons = tale.carries(inference, son, "glow");
  const double daughters = tale.carries(inference, daughter, "glow");
  const std::vector<double> shares = {sons / 2, (1 - daughters) / 2, (1 - sons) / 2, daughters / 2};
  CHECK(chi_square({1339 + 1195, 151 + 154}, {shares[0] + shares[1], shares[2] + shares[3]}) < 0.001);
  CHECK(chi_square({151, 154}, {shares[2] / (shares[2] + shares[3]), shares[3] / (shares[2] + shares[3])}) < 3.841);
  CHECK(chi_square({1339, 1195, 151, 154}, {0.25, 0.25, 0.25, 0.25}) > 16.27);  // 0.1 % at three degrees
}

TEST_CASE("Wright's coefficients of inbreeding") {
  // Wright 1922, as given in encyclopedias. 0 1 2 3: founders.
  const std::vector<Parents> parents = {{},     {},     {},     {},     {0, 1}, {0, 1},  {2, 3}, {2, 3},
                                        {4, 6}, {5, 7}, {0, 2}, {4, 2}, {5, 3}, {11, 3}, {12, 2}};
  const Kinship kin(parents);
  CHECK(nearly(kin.kinship(0, 0), 0.5));       // selfing
  CHECK(nearly(kin.kinship(4, 5), 0.25));      // full sibs
  CHECK(nearly(kin.kinship(0, 4), 0.25));      // parent and young
  CHECK(nearly(kin.kinship(4, 10), 0.125));    // half sibs
  CHECK(nearly(kin.kinship(5, 11), 0.125));    // uncle and niece
  CHECK(nearly(kin.kinship(8, 9), 0.125));     // double first cousins
  CHECK(nearly(kin.kinship(11, 12), 0.0625));  // first cousins
  const Kinship second(std::vector<Parents>{{}, {}, {0, 1}, {0, 1}, {}, {}, {2, 4}, {3, 5}, {}, {}, {6, 8}, {7, 9}});
  CHECK(nearly(second.kinship(10, 11), 1 / 64.0));
}

TEST_CASE("brother and sister mated for generations") {
  std::vector<Parents> parents(2);
  for (AnimalIndex g = 0; g < 6; ++g) {
    parents.push_back({2 * g, 2 * g + 1});
    parents.push_back({2 * g, 2 * g + 1});
  }
  const Kinship kin(parents);
  const double expected[] = {0, 0.25, 0.375, 0.5, 0.59375, 0.671875};
  for (AnimalIndex g = 0; g < 6; ++g) CHECK(nearly(kin.inbreeding(2 * g + 2), expected[g]));
  CHECK(nearly(kin.kinship(12, 13), 0.734375));
}

TEST_CASE("the relationships of Mrode's table") {
  // Mrode, Linear Models for the Prediction of Animal Breeding Values, 3rd ed., table 2.1; twice the kinship.
  const Kinship kin(std::vector<Parents>{{}, {}, {0, 1}, {0, kNobody}, {3, 2}, {4, 1}});
  const double expected[6][6] = {{1, 0, .5, .5, .5, .25},
                                 {0, 1, .5, 0, .25, .625},
                                 {.5, .5, 1, .25, .625, .5625},
                                 {.5, 0, .25, 1, .625, .3125},
                                 {.5, .25, .625, .625, 1.125, .6875},
                                 {.25, .625, .5625, .3125, .6875, 1.125}};
  for (AnimalIndex i = 0; i < 6; ++i) {
    for (AnimalIndex j = 0; j < 6; ++j) CHECK(nearly(2 * kin.kinship(i, j), expected[i][j]));
  }
  CHECK(nearly(kin.inbreeding(4), 0.125));
}
