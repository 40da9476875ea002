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

TEST_CASE("look-alikes are one statement with several options, and a name of two genes is one of them") {
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
  CHECK(only(het).options.size() == 2);
  std::string problem;
  CHECK(!allele_named(*rat, "albino", problem));
  CHECK(problem.find("several genes") != std::string::npos);
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

TEST_CASE("a plan knows that sex-linked looks go together: two recessives on the Z, worked out by hand") {
  Tale tale(
      "sexes ZW\nlocus one\nmemory a test\nlinkage hemizygous\nallele pale, recessive\n"
      "locus two\nmemory a test\nlinkage hemizygous\nallele faint, recessive\n");
  const auto father = tale.male();
  const auto mother = tale.female();
  tale.visual(father, "pale");
  tale.visual(mother, "faint");
  const auto inference = tale.infer();
  std::string problem;
  const auto wanted = parts_named(*tale.species, "pale + faint", problem);
  const std::vector<AnimalIndex> males{father};
  const std::vector<AnimalIndex> females{mother};
  const BreedingPlan found = plan(inference, males, females, wanted);
  CHECK(found.pairs.empty());
  REQUIRE(found.steps.size() == 1);
  const TwoSteps& best = found.steps[0];
  // All sons look normal, have "pale" from the father and "faint" from the mother; all daughters look pale and have no
  // "faint". A son back to his mother: of the daughters one in four gets both from him, of the sons none is pale.
  CHECK(best.keep.empty());
  CHECK(nearly(best.keep_each, 0.5));
  CHECK(best.second == TwoSteps::Second::back_to_dam);
  CHECK(nearly(best.each, 1.0 / 8));
  CHECK(nearly(best.young, 2 + 8));
}

TEST_CASE("a plan's second step is what the forecast of such a pair says, sex-linked or not") {
  // What the plan expects of a son kept of a known kind, against the forecast of a pair with that very son.
  Tale tale(
      "sexes ZW\nlocus one\nmemory a test\nlinkage hemizygous\nallele pale, recessive\n"
      "locus two\nmemory a test\nallele amel, recessive\n");
  const auto father = tale.male();
  const auto mother = tale.female();
  tale.visual(father, "pale");
  tale.visual(mother, "amel");
  const auto son = tale.young(father, mother, Sex::male);
  const auto daughter = tale.young(father, mother, Sex::female);
  const auto inference = tale.infer();
  std::string problem;
  const auto wanted = parts_named(*tale.species, "pale + amel", problem);
  const std::vector<AnimalIndex> males{father};
  const std::vector<AnimalIndex> females{mother};
  const BreedingPlan found = plan(inference, males, females, wanted);
  REQUIRE(found.steps.size() == 1);
  // A daughter is pale, a son is not: brother and sister do not look alike, so the way is back to the mother.
  CHECK(found.steps[0].second == TwoSteps::Second::back_to_dam);
  CHECK(nearly(found.steps[0].each, clutch_odds(inference, son, mother, wanted, 1)->each));
  CHECK(clutch_odds(inference, father, daughter, wanted, 1)->each < 1e-12);
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

namespace {

const LookRow* row_of(const Species& species, const Forecast& forecast, const std::string& look,
                      Sex sex = Sex::unknown) {
  for (const LookRow& row : forecast.rows) {
    if (name_of(species, row) == look && row.sex == sex) return &row;
  }
  return nullptr;
}

double chance_of(const Species& species, const Forecast& forecast, const std::string& look, Sex sex = Sex::unknown) {
  const LookRow* row = row_of(species, forecast, look, sex);
  return row == nullptr ? 0 : row->chance;
}

}  // namespace

TEST_CASE("a compound's own alleles are what it looks like: only the other one is a het beside it") {
  // Two recessive alleles of one locus: Montandon et al. 2025, Genome Biology 26:73 (the look of the compound: memory).
  Tale tale(
      "locus one\nmemory a test\nallele motley, recessive\nallele stripe, recessive\n"
      "pair motley, stripe, motley, motley stripe compound\n"
      "locus two\nmemory a test\nallele pale, incomplete, super pale\nallele dark, incomplete, super dark\n"
      "pair pale, dark, dusk\n");
  const Species& species = *tale.species;
  const auto motley = tale.male();
  const auto stripe = tale.female();
  tale.visual(motley, "motley");
  tale.says(motley, Says::genotype, "motley");
  tale.collection.statements.back().options[0].b = 1;
  tale.het(stripe, "stripe");
  const Forecast made = forecast(tale.infer(), motley, stripe);
  const LookRow* compound = row_of(species, made, "motley");
  REQUIRE(compound != nullptr);
  CHECK(nearly(compound->chance, 0.5));
  const auto unseen = carried_unseen(species, made, *compound);
  REQUIRE(unseen.size() == 1);
  CHECK(unseen[0].phrase == "het stripe (motley stripe compound)");
  CHECK(nearly(unseen[0].chance, 1));
  const LookRow* normal = row_of(species, made, "normal");
  REQUIRE(normal != nullptr);
  CHECK(carried_unseen(species, made, *normal).at(0).phrase == "het motley");

  // A compound with a look of its own: both its alleles are seen.
  const Locus& two = species.loci[1];
  CHECK(is_shown(two, *two.find_look("dusk"), 1));
  CHECK(is_shown(two, *two.find_look("dusk"), 2));
  CHECK(!is_shown(two, *two.find_look("pale"), 2));
  CHECK(!is_shown(species.loci[0], *species.loci[0].find_look("motley"), 2));
  const States states(species.loci[0], species.sexes);
  std::vector<std::string> phrases;
  for (std::size_t i = 0; i < states.size(); ++i) phrases.push_back(phrase_of(species, 0, states, i));
  CHECK(std::find(phrases.begin(), phrases.end(), "motley (motley stripe compound), het stripe") != phrases.end());
}

TEST_CASE("of a sex-linked gene males and females have rows of their own, and two such genes are tied by the sex") {
  // The pattern: Mallery & Carrillo 2016, Phyllomedusa 15(1):29-42; the recombination is any number. A sire that had
  // both genes on the Y passes each to a son with 1 - theta, to a daughter with theta, independently given the sex.
  const double theta = 0.05;
  Tale tale(
      "sexes XY\nlocus one\nmemory a test\nlinkage sex-linked 0.05\nallele glow, incomplete, super glow\n"
      "locus two\nmemory a test\nlinkage sex-linked 0.05\nallele haze, incomplete, super haze\n"
      "locus three\nmemory a test\nallele pastel, incomplete, super pastel\n");
  const Species& species = *tale.species;
  const auto grandsire = tale.male();
  const auto granddam = tale.female();
  for (const char* gene : {"glow", "haze"}) tale.het(grandsire, gene);
  for (const char* gene : {"glow", "haze"}) tale.free_of(granddam, gene);
  const auto sire = tale.young(grandsire, granddam, Sex::male);
  const auto dam = tale.female();
  for (const char* gene : {"glow", "haze", "pastel"}) tale.het(sire, gene);
  const Inference inference = tale.infer();
  const Forecast made = forecast(inference, sire, dam);
  const double son = 1 - theta;
  CHECK(nearly(chance_of(species, made, "glow haze", Sex::male), son * son / 4));
  CHECK(nearly(chance_of(species, made, "glow haze pastel", Sex::male), son * son / 4));
  CHECK(nearly(chance_of(species, made, "glow pastel", Sex::male), son * theta / 4));
  CHECK(nearly(chance_of(species, made, "glow haze", Sex::female), theta * theta / 4));
  CHECK(nearly(chance_of(species, made, "normal", Sex::female), son * son / 4));
  CHECK(row_of(species, made, "normal") == nullptr);
  double all = made.rest;
  for (const LookRow& row : made.rows) all += row.chance;
  CHECK(std::abs(all - 1) < 1e-9);

  std::string problem;
  const auto both = clutch_odds(inference, sire, dam, parts_named(species, "glow + haze", problem), 6);
  REQUIRE(both);
  CHECK(nearly(both->each, (son * son + theta * theta) / 2));
  const auto one = clutch_odds(inference, sire, dam, parts_named(species, "glow", problem), 6);
  REQUIRE(one);
  CHECK(nearly(one->each, 0.5));

  // Of a gene that is not sex-linked there is nothing to tell apart.
  const auto plain = tale.male();
  tale.het(plain, "pastel");
  const Forecast other = forecast(tale.infer(), plain, dam);
  for (const LookRow& row : other.rows) CHECK(row.sex == Sex::unknown);
  CHECK(nearly(chance_of(species, other, "pastel"), 0.5));
}

TEST_CASE("a lethal pair that is sex-linked takes its share of one sex, and the rows are of the living") {
  // By hand: the sire has the gene on his X, no recombination, so all daughters and no son have it from him; the dam is
  // het, so half of the daughters have two copies and do not live: a quarter of all.
  Tale tale(
      "sexes XY\nlocus one\nmemory a test\nlinkage sex-linked 0\nallele glow, dominant\nlethal glow, glow\n"
      "practice a test\n");
  const Species& species = *tale.species;
  const auto grandsire = tale.male();
  const auto granddam = tale.female();
  tale.free_of(grandsire, "glow");
  tale.het(granddam, "glow");
  const auto sire = tale.young(grandsire, granddam, Sex::male);
  const auto dam = tale.female();
  for (const auto parent : {sire, dam}) tale.het(parent, "glow");
  const Forecast made = forecast(tale.infer(), sire, dam);
  CHECK(nearly(made.lost, 0.25));
  CHECK(nearly(chance_of(species, made, "glow", Sex::female), 1.0 / 3));
  CHECK(nearly(chance_of(species, made, "glow", Sex::male), 1.0 / 3));
  CHECK(nearly(chance_of(species, made, "normal", Sex::male), 1.0 / 3));
  CHECK(row_of(species, made, "normal", Sex::female) == nullptr);
}

TEST_CASE("nobody looks of two things at one locus") {
  Tale tale(
      "locus one\nmemory a test\nallele motley, recessive\nallele stripe, recessive\npair motley, stripe, motley\n");
  const auto he = tale.male();
  const auto she = tale.female();
  tale.het(he, "motley");
  tale.het(she, "stripe");
  std::string problem;
  const auto odds = clutch_odds(tale.infer(), he, she, parts_named(*tale.species, "motley + stripe", problem), 4);
  REQUIRE(odds);
  CHECK(odds->each == 0);
}

TEST_CASE("looks that hurt only together are told of a pair that may give both, with their source") {
  // Two hets at two loci: 1/16 of the young are both (Mendel's 9:3:3:1).
  Tale tale(
      "locus one\nmemory a test\nallele amel, recessive\nlocus two\nmemory a test\nallele anery, recessive\n"
      "combination frail = amel + anery\nharm weak young\nsource a made-up paper\n");
  const auto he = tale.male();
  const auto she = tale.female();
  for (const auto parent : {he, she}) {
    tale.het(parent, "amel");
    tale.het(parent, "anery");
  }
  const Forecast made = forecast(tale.infer(), he, she);
  REQUIRE(made.harms.size() == 1);
  CHECK(made.harms[0].pair == "frail");
  CHECK(made.harms[0].what == "weak young");
  CHECK(made.harms[0].source == "a made-up paper");
  CHECK(nearly(made.harms[0].chance, 1.0 / 16));
  CHECK(!made.harms[0].lethal);
  const auto plain = tale.female();
  CHECK(forecast(tale.infer(), he, plain).harms.empty());
}
