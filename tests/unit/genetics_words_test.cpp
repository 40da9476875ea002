// The words of statements, the words of answers, and plans.
#include "core/genetics/phrases.h"
#include "core/genetics/plan.h"
#include "core/genetics/reasons.h"
#include "core/genetics/said.h"
#include "tests/support/genetics_world.h"

using namespace rackside::core::genetics;
using namespace rackside::tests;

namespace {

const std::string kThree =
    "locus one\nmemory a test\nallele amel, recessive\nalso amelanistic\n"
    "locus two\nmemory a test\nallele anery, recessive\n"
    "locus three\nmemory a test\nallele pastel, incomplete, super pastel\n";

std::shared_ptr<const Species> shipped(std::string_view name) {
  for (const ShippedCatalogue& one : shipped_catalogues()) {
    if (one.name == name) return std::make_shared<Species>(read_catalogue(one.text).species);
  }
  return nullptr;
}

Statement only(const Understood& understood) {
  REQUIRE(understood.problem == "");
  REQUIRE(understood.statements.size() == 1);
  return understood.statements.front();
}

}  // namespace

TEST_CASE("each word of a statement says its own of the genotype") {
  const Tale tale(kThree);
  const Species& species = *tale.species;
  const auto said = [&](const char* state, const char* gene) {
    return understand(species, {.state = state, .genes = {gene}, .basis = "seen"});
  };
  CHECK(only(said("visual", "Amel")).says == Says::looks);
  CHECK(only(said("visual", "amelanistic")).options[0].locus == 0);
  CHECK(only(said("visual", "pastel")).options[0].look == *species.loci[2].find_look("pastel"));
  CHECK(only(said("visual", "super pastel")).options[0].look == *species.loci[2].find_look("super pastel"));
  CHECK(only(said("visual", "normal")).says == Says::nothing_else);
  CHECK(only(said("unseen", "amel")).says == Says::unseen);
  CHECK(only(said("het", "amel")).says == Says::het);
  CHECK(only(said("carries", "amel")).says == Says::carries);
  CHECK(only(said("not", "amel")).says == Says::free_of);
  CHECK(only(said("homozygous", "pastel")).options[0].b == 1);
  CHECK(only(understand(species, {.state = "normal"})).says == Says::nothing_else);
  // "Possibly het" is also "not seen to be": of a gene that shows in one copy there is nothing unseen.
  CHECK(said("possible-het", "amel").statements.size() == 2);
  CHECK(said("possible-het", "pastel").statements.size() == 1);
}

TEST_CASE("the trade's 66 and 33 are thirds") {
  const Tale tale(kThree);
  const auto chance = [&](unsigned percent) {
    const SaidOfGene said{.state = "possible-het", .genes = {"amel"}, .chance_percent = percent};
    return understand(*tale.species, said).statements[0].chance;
  };
  CHECK(chance(66) == 2.0 / 3);
  CHECK(chance(33) == 1.0 / 3);
  CHECK(chance(50) == 0.5);
  CHECK(card_percent(2.0 / 3) == 66);
  CHECK(card_percent(1.0 / 3) == 33);
  CHECK(card_percent(0.5) == 50);
  CHECK(card_percent(0.9999) == 99);
}

TEST_CASE("look-alikes are one statement with several options, and a gene of two loci must be said which") {
  const Tale tale(kThree);
  const auto either =
      understand(*tale.species, {.state = "visual", .genes = {"amel", "anery"}, .certainty = "think-so"});
  CHECK(only(either).options.size() == 2);
  CHECK(only(either).certainty == Certainty::think_so);
  // The two albinos of the black rat snake: Bechtel and Bechtel; see the catalogue's source.
  const auto rat = shipped("black-rat-snake");
  REQUIRE(rat);
  CHECK(only(understand(*rat, {.state = "visual", .genes = {"albino"}})).options.size() == 2);
  const auto het = understand(*rat, {.state = "het", .genes = {"albino"}});
  CHECK(het.problem.find("several genes") != std::string::npos);
  const std::string first = rat->loci[rat->find_allele("albino")[0].locus].name + "/albino";
  CHECK(only(understand(*rat, {.state = "het", .genes = {first}})).options.size() == 1);
}

TEST_CASE("what the catalogue does not know is told with the nearest names") {
  const Tale tale(kThree);
  const auto wrong = understand(*tale.species, {.state = "visual", .genes = {"anerry"}});
  CHECK(wrong.statements.empty());
  CHECK(wrong.problem.find("“anerry”; it has anery") != std::string::npos);
  CHECK(!understand(*tale.species, {.state = "maybe", .genes = {"amel"}}).problem.empty());
  CHECK(!understand(*tale.species, {.state = "het"}).problem.empty());
}

TEST_CASE("a combination of the catalogue stands for all its looks") {
  const auto corn = shipped("corn-snake");
  REQUIRE(corn);
  const auto both = understand(*corn, {.state = "visual", .genes = {"amel and anery together"}});
  CHECK(both.problem == "");
  CHECK(both.statements.size() == 2);
  std::string problem;
  CHECK(parts_named(*corn, "amel + stripe", problem).size() == 2);
  CHECK(parts_named(*corn, "amel + nothing", problem).empty());
  CHECK(problem.find("“nothing”") != std::string::npos);
}

TEST_CASE("chances are written as certain only where they are") {
  CHECK(percent(1) == "100 %");
  CHECK(percent(0.999999) == "over 99.99 %");
  CHECK(percent(2.0 / 3) == "66.7 %");
  CHECK(percent(0.5) == "50 %");
  CHECK(percent(0.00001) == "under 0.01 %");
  CHECK(percent(0) == "0 %");
}

TEST_CASE("genotypes are called as the trade calls them") {
  const auto ball = shipped("ball-python");
  const auto corn = shipped("corn-snake");
  const auto called = [](const Species& species, const char* locus, const char* genotype) {
    const auto at = *species.find_locus(locus);
    const States states(species.loci[at], species.sexes);
    for (std::size_t i = 0; i < states.size(); ++i) {
      if (states.name(i) == genotype) return phrase_of(species, at, states, i);
    }
    return std::string("no such genotype");
  };
  CHECK(called(*corn, "amelanism", "amel/normal") == "het amel");
  CHECK(called(*corn, "amelanism", "amel/amel") == "amel");
  CHECK(called(*corn, "amelanism", "normal/normal") == "normal");
  CHECK(called(*corn, "motley and stripe", "stripe/normal") == "het stripe");
  CHECK(called(*ball, "pastel", "pastel/normal") == "pastel");
  CHECK(called(*ball, "pastel", "pastel/pastel") == "super pastel");
}

TEST_CASE("the heaviest reason for a young's odds is who its parents are") {
  Tale tale(kThree);
  const auto sire = tale.male();
  const auto dam = tale.female();
  tale.het(sire, "amel");
  tale.het(dam, "amel");
  tale.looks_normal(sire);
  const auto young = tale.young(sire, dam);
  tale.looks_normal(young);
  for (std::size_t i = 0; i < tale.collection.statements.size(); ++i) tale.collection.statements[i].record = i + 1;
  tale.collection.sirings[0].record = 77;
  const auto reasons = reasons_for(tale.species, tale.collection, young, 0);
  REQUIRE(reasons.size() >= 3);
  // Without either parent's het, or without the sire, it is het at a half and no more; with both at two thirds.
  for (const Reason& one : reasons) CHECK(one.weight > 0.1);
  CHECK(
      std::any_of(reasons.begin(), reasons.end(), [](const Reason& one) { return one.record == 77 && one.parentage; }));
}

TEST_CASE("two visuals of different recessives give the double in the second generation, one in sixteen") {
  // Mendel's 9:3:3:1, REFERENCES of the dihybrid in the unit tests of the inference.
  Tale tale(kThree);
  const auto amel = tale.male();
  const auto anery = tale.female();
  tale.visual(amel, "amel");
  tale.visual(anery, "anery");
  const auto inference = tale.infer();
  std::string problem;
  const auto wanted = parts_named(*tale.species, "amel + anery", problem);
  const std::vector<AnimalIndex> males{amel};
  const std::vector<AnimalIndex> females{anery};
  const BreedingPlan found = plan(inference, males, females, wanted);
  CHECK(found.pairs.empty());
  REQUIRE(found.steps.size() == 1);
  CHECK(found.steps[0].keep.empty());
  CHECK(nearly(found.steps[0].keep_each, 1));
  CHECK(found.steps[0].second == TwoSteps::Second::siblings);
  CHECK(nearly(found.steps[0].each, 1.0 / 16));
  CHECK(nearly(found.steps[0].young, 3 + 16));
}

TEST_CASE("a plan ranks pairs by what they give, jointly over what is uncertain") {
  Tale tale(kThree);
  const auto sure = tale.male();
  const auto possible = tale.male();
  const auto dam = tale.female();
  const auto idle = tale.female();
  tale.het(sure, "amel");
  tale.possible(possible, "amel", 2.0 / 3);
  tale.visual(dam, "amel");
  (void)idle;
  const auto inference = tale.infer();
  std::string problem;
  const auto wanted = parts_named(*tale.species, "amel", problem);
  const std::vector<AnimalIndex> males{possible, sure};
  const std::vector<AnimalIndex> females{idle, dam};
  const BreedingPlan found = plan(inference, males, females, wanted);
  REQUIRE(found.pairs.size() == 2);
  CHECK(found.pairs[0].sire == sure);
  CHECK(found.pairs[0].dam == dam);
  CHECK(nearly(found.pairs[0].each, 0.5));
  CHECK(found.pairs[0].young == 4);  // 1 - 0.5^4 = 0.9375, 1 - 0.5^3 = 0.875
  CHECK(nearly(found.pairs[1].each, 1.0 / 3));
  CHECK(found.pairs[0].exact);
}
