// A wrong sire planted into invented collections is found, and clean collections raise no alarm.
#include <cmath>
#include <iostream>
#include <random>

#include "core/genetics/doubt.h"
#include "tests/support/genetics_world.h"

using namespace rackside::core::genetics;
using namespace rackside::tests;

namespace {

using Random = std::mt19937;
constexpr std::size_t kLoci = 5;
constexpr std::size_t kFounders = 14;
constexpr std::size_t kClutches = 10;
constexpr std::size_t kYoung = 7;

std::size_t below(Random& random, std::size_t limit) {
  return random() % limit;
}

/// A collection with its truth: copies of each recessive allele in each animal.
struct World {
  std::shared_ptr<Species> species;
  Collection collection;
  std::vector<std::array<int, kLoci>> copies;
  std::vector<std::vector<AnimalIndex>> clutches;
};

std::string catalogue_text() {
  std::string out;
  for (std::size_t i = 0; i < kLoci; ++i) {
    const std::string n = std::to_string(i);
    out += "locus l" + n + "\nmemory a test\nallele a" + n + ", recessive\n";
  }
  return out;
}

void describe(World& world, AnimalIndex animal, bool founder) {
  for (std::uint16_t locus = 0; locus < kLoci; ++locus) {
    const int copies = world.copies[animal][locus];
    Statement one{.animal = animal, .options = {{.locus = locus, .look = 1, .a = 1}}};
    one.record = world.collection.statements.size() + 1000;
    if (copies == 2) {
      world.collection.statements.push_back(one);
    } else if (copies == 1 && founder) {
      one.basis = Basis::bought;
      one.says = Says::het;
      world.collection.statements.push_back(one);
    }
  }
  world.collection.statements.push_back({.animal = animal, .says = Says::nothing_else, .record = 5'000'000U + animal});
}

void add_founder(Random& random, World& world) {
  const auto index = static_cast<AnimalIndex>(world.collection.animals.size());
  world.collection.animals.push_back({.sex = index % 2 == 0 ? Sex::male : Sex::female});
  std::array<int, kLoci> copies{};
  for (int& one : copies) one = below(random, 3) == 0 ? 1 + static_cast<int>(below(random, 2)) : 0;
  world.copies.push_back(copies);
  describe(world, index, true);
}

AnimalIndex any_of_sex(Random& random, const World& world, Sex sex) {
  while (true) {
    const auto one = static_cast<AnimalIndex>(below(random, world.collection.animals.size()));
    if (world.collection.animals[one].sex == sex) return one;
  }
}

void add_clutch(Random& random, World& world) {
  const AnimalIndex sire = any_of_sex(random, world, Sex::male);
  const AnimalIndex dam = any_of_sex(random, world, Sex::female);
  const auto siring = static_cast<SiringIndex>(world.collection.sirings.size());
  world.collection.sirings.push_back({{{sire, 1}}, 100U + siring});
  std::vector<AnimalIndex> young;
  for (std::size_t i = 0; i < kYoung; ++i) {
    const auto index = static_cast<AnimalIndex>(world.collection.animals.size());
    world.collection.animals.push_back(
        {.sex = below(random, 2) ? Sex::male : Sex::female, .dam = dam, .siring = siring, .dam_record = 200U + siring});
    std::array<int, kLoci> copies{};
    for (std::size_t locus = 0; locus < kLoci; ++locus) {
      for (AnimalIndex parent : {sire, dam})
        copies[locus] += static_cast<int>(below(random, 2)) < world.copies[parent][locus];
    }
    world.copies.push_back(copies);
    young.push_back(index);
  }
  for (AnimalIndex one : young) describe(world, one, false);
  world.clutches.push_back(std::move(young));
}

World make_world(Random& random) {
  World out;
  out.species = Tale(catalogue_text()).species;
  for (std::size_t i = 0; i < kFounders; ++i) add_founder(random, out);
  for (std::size_t i = 0; i < kClutches; ++i) add_clutch(random, out);
  return out;
}

double log_of(const World& world, const Collection& collection) {
  Inference inference(world.species);
  inference.load(collection);
  for (const Problem& problem : inference.problems()) {
    if (problem.kind == Problem::Kind::impossible_family || problem.kind == Problem::Kind::hidden_carrier)
      return -1e300;
  }
  return inference.log_likelihood();
}

/// Any founder may carry what nobody knew of.
Collection with_hidden(const Collection& collection, double chance) {
  Collection out = collection;
  for (AnimalIndex i = 0; i < kFounders; ++i) {
    for (std::uint16_t locus = 0; locus < kLoci; ++locus) {
      const bool said =
          std::any_of(collection.statements.begin(), collection.statements.end(), [&](const Statement& one) {
            return one.animal == i && !one.options.empty() && one.options[0].locus == locus;
          });
      if (said) continue;
      out.statements.push_back({.animal = i,
                                .basis = Basis::bought,
                                .says = Says::possible,
                                .chance = chance,
                                .options = {{.locus = locus, .a = 1}}});
    }
  }
  return out;
}

/// Of the young of that siring, or below them.
bool descends(const Collection& collection, AnimalIndex animal, SiringIndex from) {
  const Animal& here = collection.animals[animal];
  if (here.siring == from) return true;
  if (here.dam != kNobody && descends(collection, here.dam, from)) return true;
  return here.siring != kNoSiring && descends(collection, collection.sirings[here.siring].possible[0].sire, from);
}

/// The odds against a recorded sire by another way than the one under test: the likelihood of the whole collection
/// with each other male in his place in turn, not one variable over all of them.
double odds_against(const World& world, SiringIndex siring, const DoubtSettings& settings) {
  const Collection open = with_hidden(world.collection, settings.hidden_carrier);
  const auto log_with = [&](AnimalIndex sire) {
    Collection changed = open;
    changed.sirings[siring].possible[0].sire = sire;
    return log_of(world, changed);
  };
  const AnimalIndex recorded = open.sirings[siring].possible[0].sire;
  std::vector<double> others{log_with(kNobody)};
  for (AnimalIndex i = 0; i < open.animals.size(); ++i) {
    if (open.animals[i].sex == Sex::male && i != recorded && !descends(open, i, siring)) others.push_back(log_with(i));
  }
  const double right = log_with(recorded);
  double sum = 0;
  for (double one : others) sum += std::exp(std::min(600.0, one - right));
  return settings.wrong_sire / (1 - settings.wrong_sire) * sum / static_cast<double>(others.size());
}

bool tells_of(const std::vector<Doubt>& found, RecordId record) {
  for (const Doubt& doubt : found) {
    for (const Suspect& suspect : doubt.suspects) {
      if (suspect.kind == Suspect::Kind::sire && suspect.record == record) return true;
    }
  }
  return false;
}

}  // namespace

TEST_CASE("a wrong sire against whom the odds are 20 to 1 is found, and few clean collections are doubted", "[slow]") {
  constexpr unsigned kSeed = 71;
  std::cout << "seed " << kSeed << "\n";
  Random random(kSeed);
  const DoubtSettings settings;
  unsigned planted = 0;
  unsigned found = 0;
  unsigned named_right = 0;
  unsigned wolves = 0;
  for (unsigned round = 0; planted < 100; ++round) {
    REQUIRE(round < 1000);
    World world = make_world(random);
    if (round < 100) wolves += !doubts(world.species, world.collection, settings).empty();
    const auto siring = static_cast<SiringIndex>(below(random, world.collection.sirings.size()));
    const AnimalIndex truth = world.collection.sirings[siring].possible[0].sire;
    if (truth >= kFounders) continue;
    AnimalIndex wrong = truth;
    while (wrong == truth) wrong = static_cast<AnimalIndex>(2 * below(random, kFounders / 2));
    world.collection.sirings[siring].possible[0].sire = wrong;
    if (odds_against(world, siring, settings) < 20) continue;
    ++planted;
    const auto doubted = doubts(world.species, world.collection, settings);
    found += tells_of(doubted, world.collection.sirings[siring].record);
    for (const Doubt& doubt : doubted) {
      for (const Suspect& suspect : doubt.suspects)
        named_right += suspect.record == world.collection.sirings[siring].record && suspect.instead == truth;
    }
  }
  std::cout << "found " << found << " of " << planted << ", the true sire named in " << named_right
            << "; clean collections doubted: " << wolves << " of 100\n";
  CHECK(found >= 95);
  CHECK(named_right >= 30);
  CHECK(wolves <= 5);
}
