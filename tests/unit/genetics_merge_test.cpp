// Two names that turn out to be one gene or one locus, and one name that turns out to be two: nothing that was said is
// lost.
#include <algorithm>

#include "core/genetics/claims.h"
#include "core/genetics/pairing.h"
#include "core/genetics/phrases.h"
#include "core/genetics/said.h"
#include "tests/support/genetics_enumerator.h"
#include "tests/support/genetics_world.h"

using namespace rackside::core::genetics;
using namespace rackside::tests;

namespace {

const std::string kTwo =
    "locus anerythrism\nmemory a test\nallele anery, recessive\n"
    "locus charcoal\nmemory a test\nallele charcoal, recessive\n";
const std::string kFound = "memory test breeding, a test\n";

struct Words {
  AnimalIndex animal = 0;
  const char* state = "";
  const char* gene = "";
  unsigned percent = 50;
};

/// He, she and two young of theirs; what is said of them in words stays, whatever the catalogue.
struct Family {
  Family(const std::string& catalogue, const std::vector<Words>& said) : tale(catalogue) {
    he = tale.male();
    she = tale.female();
    first = tale.young(he, she);
    second = tale.young(he, she);
    for (const Words& one : said) {
      const Understood understood = understand(
          *tale.species, {.state = one.state, .genes = {one.gene}, .basis = "bought", .chance_percent = one.percent});
      REQUIRE(understood.problem == "");
      for (Statement statement : understood.statements) {
        statement.animal = one.animal;
        statement.author = ++authors;
        tale.collection.statements.push_back(statement);
      }
    }
  }
  Tale tale;
  AnimalIndex he = 0, she = 0, first = 0, second = 0;
  std::uint32_t authors = 0;
};

double looks(const Inference& inference, AnimalIndex animal, const std::string& name) {
  const std::vector<Option> options = looks_named(inference.species(), name);
  REQUIRE(options.size() == 1);
  const auto odds = inference.odds(animal, options[0].locus);
  double out = 0;
  for (std::size_t i = 0; i < odds.size(); ++i)
    out += inference.states(options[0].locus).look(i) == options[0].look ? odds[i] : 0;
  return out;
}

double largest_difference(const Tale& tale) {
  const Enumerated expected = enumerate(*tale.species, tale.collection, {});
  const Inference inference = tale.infer();
  double out = 0;
  for (AnimalIndex animal = 0; animal < expected.odds.size(); ++animal) {
    for (std::uint16_t locus = 0; locus < expected.odds[animal].size(); ++locus) {
      const auto odds = inference.odds(animal, locus);
      REQUIRE(odds.size() == expected.odds[animal][locus].size());
      for (std::size_t i = 0; i < odds.size(); ++i)
        out = std::max(out, std::abs(odds[i] - expected.odds[animal][locus][i]));
    }
  }
  return out;
}

std::string first_error(const std::string& text) {
  const auto read = read_catalogue("rackside genes 1\nspecies invented snake, Serpens ficta\n" + text);
  return read.errors.empty() ? "" : std::to_string(read.errors.front().line) + ": " + read.errors.front().message;
}

const std::vector<Words> kOneEach = {{0, "het", "anery"}, {1, "het", "charcoal"}};

}  // namespace

TEST_CASE(
    "two names that are one gene: what was said under either is said of it, and taking the line out gives it back") {
  const Family before(kTwo, kOneEach);
  CHECK(nearly(looks(before.tale.infer(), before.first, "anery"), 0));
  const Family after(kTwo + "merge anerythrism, charcoal\nsame anery, charcoal\n" + kFound, kOneEach);
  REQUIRE(after.tale.species->loci.size() == 1);
  const Inference merged = after.tale.infer();
  // Mendel: two hets of one gene.
  CHECK(nearly(looks(merged, after.first, "anery"), 0.25));
  CHECK(nearly(looks(merged, after.first, "charcoal"), 0.25));
  CHECK(nearly(looks(merged, after.first, "charcoal/charcoal"), 0.25));
  CHECK(largest_difference(after.tale) < 1e-12);
  CHECK(after.tale.species->findings.size() == 2);
  CHECK(after.tale.species->findings[1].sentence == "charcoal is another name of anery");
  CHECK(sentence_of(after.tale.species->findings[1].source) == "from memory, unverified: test breeding, a test");
  const Family again(kTwo, kOneEach);
  for (AnimalIndex animal : {before.he, before.she, before.first, before.second}) {
    for (std::uint16_t locus = 0; locus < 2; ++locus)
      CHECK(before.tale.infer().odds(animal, locus) == again.tale.infer().odds(animal, locus));
  }
}

TEST_CASE("a merged gene is as one that was written as one") {
  const std::string one = "locus anerythrism\nmemory a test\nallele anery, recessive\nalso charcoal\n";
  const std::vector<Words> said = {
      {0, "het", "anery"}, {1, "possible-het", "charcoal", 66}, {2, "unseen", "charcoal"}, {3, "visual", "charcoal"}};
  const Family merged(kTwo + "merge anerythrism, charcoal\nsame anery, charcoal\n" + kFound, said);
  const Family written(one, said);
  for (AnimalIndex animal : {0U, 1U, 2U, 3U}) {
    const auto a = merged.tale.infer().odds(animal, 0);
    const auto b = written.tale.infer().odds(animal, 0);
    REQUIRE(a.size() == b.size());
    for (std::size_t i = 0; i < a.size(); ++i) CHECK(nearly(a[i], b[i]));
  }
}

TEST_CASE("two names that are alleles of one locus: visuals of both give compounds only") {
  const std::vector<Words> said = {{0, "visual", "anery"}, {1, "visual", "charcoal"}};
  const Family apart(kTwo, said);
  CHECK(nearly(looks(apart.tale.infer(), apart.first, "anery"), 0));
  const Family merged(kTwo + "merge anerythrism, charcoal\n" + kFound + "pair anery, charcoal, smoke\n", said);
  const Inference inference = merged.tale.infer();
  CHECK(inference.problems().empty());
  CHECK(nearly(looks(inference, merged.first, "smoke"), 1));
  CHECK(largest_difference(merged.tale) < 1e-12);
}

TEST_CASE("a merge moves looks, mistakes, pairs and combinations along") {
  const std::string text =
      "locus one\nmemory t\nallele amel, recessive\n"
      "locus two\nmemory t\nallele pastel, incomplete, super pastel\nmistaken pastel, super pastel, 0.2\nharm pastel, "
      "pastel, wobbles\nmemory t\n"
      "locus three\nmemory t\nallele banded, incomplete, super banded\nmistaken super banded, banded, 0.1\n"
      "locus four\nmemory t\nallele dark, recessive\n"
      "combination both = pastel + banded\ncombination dusk = super banded + dark\n";
  const Tale tale(text + "merge two, three\nsame pastel, banded\n" + kFound);
  const Species& species = *tale.species;
  REQUIRE(species.loci.size() == 3);
  const Locus& two = species.loci[1];
  CHECK(two.looks == std::vector<std::string>{"normal", "pastel", "super pastel"});
  CHECK(two.find_look("super banded") == two.find_look("super pastel"));
  CHECK(two.mistakes.size() == 2);
  CHECK(two.pair(1, 1).harm == "wobbles");
  CHECK(species.combinations[0].parts.size() == 1);
  CHECK(species.combinations[1].parts[1].locus == 2);
  CHECK(species.combinations[1].parts[0].look == *two.find_look("super pastel"));
}

TEST_CASE("a name that turns out to be two genes is one of them, weighed") {
  const std::string genes =
      "locus hypomelanism\nmemory a test\nallele hypo, recessive\n"
      "locus second hypo\nmemory a test\nallele hypo B, recessive\n";
  const std::string split = genes + "split hypo = hypo, hypo B\n" + kFound;
  const std::vector<Words> hets = {{0, "het", "hypo"}, {1, "het", "hypo"}};
  const Family one(genes, hets);
  CHECK(nearly(looks(one.tale.infer(), one.first, "hypo"), 0.25));

  const Family two(split, hets);
  CHECK(largest_difference(two.tale) < 1e-12);
  // Each parent is het for one of the two. That both are for the same is a half; where nobody carries more than what
  // was said a quarter of the young show it then.
  Settings plain;
  plain.mentioned_frequency = 1e-9;
  Inference inference(two.tale.species, plain);
  inference.load(two.tale.collection);
  const double shows = looks(inference, two.first, "hypomelanism/hypo") + looks(inference, two.first, "hypo B");
  CHECK(std::abs(shows - 1 / 8.0) < 1e-6);

  // One young that surely shows the second gene: both parents carry that one, and so it was said of that.
  std::vector<Words> told = hets;
  told.push_back({2, "visual", "hypo B"});
  const Family known(split, told);
  CHECK(largest_difference(known.tale) < 1e-12);
  CHECK(nearly(known.tale.carries(known.tale.infer(), known.he, "hypo B"), 1));
  Inference after(known.tale.species, plain);
  after.load(known.tale.collection);
  CHECK(after.odds(known.he, 0)[0] > 1 - 1e-6);

  // Taking the line out gives the old reading.
  const Family back(genes, hets);
  CHECK(nearly(looks(back.tale.infer(), back.first, "hypo"), 0.25));
}

TEST_CASE("a promise under a split name is kept whole: half of it lies on each gene") {
  const std::string split =
      "locus one\nmemory a test\nallele hypo, recessive\nlocus two\nmemory a test\nallele hypo B, recessive\n"
      "split hypo = hypo, hypo B\n" +
      kFound;
  const Family family(split, {{0, "possible-het", "hypo", 50}});
  const Inference inference = family.tale.infer();
  const auto alleles = family.tale.species->find_allele("hypo");
  REQUIRE(alleles.size() == 2);
  for (const AlleleRef& ref : alleles) {
    const auto odds = inference.odds(family.he, ref.locus);
    CHECK(nearly(odds[1], 0.25));
    CHECK(nearly(odds[2], 0));
  }
  // Never both, so together it is what was promised, and paper goes on saying it.
  Statement promise;
  for (const Statement& one : family.tale.collection.statements) {
    if (one.says == Says::possible) promise = one;
  }
  const auto support = supported(inference, promise);
  REQUIRE(support);
  CHECK(nearly(*support, 0.5));
  CHECK(largest_difference(family.tale) < 1e-12);
  // The odds of a pair carry that it is one of the two.
  const auto cases = inference.cases(family.he, family.she, std::vector<std::uint16_t>{0, 1});
  CHECK(cases.size() == 2);
}

TEST_CASE("an animal that shows both genes of a split name looks so") {
  const std::string split =
      "locus one\nmemory a test\nallele hypo, recessive\nlocus two\nmemory a test\nallele hypo B, recessive\n"
      "split hypo = hypo, hypo B\n" +
      kFound;
  const Family family(split, {{0, "homozygous", "one/hypo"}, {0, "homozygous", "hypo B"}, {0, "visual", "hypo"}});
  CHECK(family.tale.infer().problems().empty());
  CHECK(nearly(family.tale.carries(family.tale.infer(), family.he, "hypo B"), 1));
  CHECK(look_name(*family.tale.species, {0, 1}) == "one/hypo");
  CHECK(allele_name(*family.tale.species, {0, 1}) == "one/hypo");
  CHECK(allele_name(*family.tale.species, {1, 1}) == "hypo B");
}

TEST_CASE("merges and splits that cannot be name their line and why") {
  const std::string dominant = "locus charcoal\nmemory t\nallele charcoal, dominant\n";
  const std::string first = "locus anerythrism\nmemory t\nallele anery, recessive\n";
  CHECK(contains(first_error(kTwo + "merge anerythrism, charcoal\n" + kFound), "add \"pair anery, charcoal, LOOK\""));
  CHECK(contains(first_error(kTwo + "merge anerythrism, charcoal\nsame anery, charcoal\n"),
                 "9: \"charcoal is the locus"));
  CHECK(
      contains(first_error(kTwo + "same anery, charcoal\n" + kFound), "put it below \"merge anerythrism, charcoal\""));
  // A source below a line that was not understood is no second mistake.
  const auto read = read_catalogue("rackside genes 1\nspecies invented snake, Serpens ficta\n" + kTwo +
                                   "merge anerythrism, coal\n" + kFound);
  CHECK(read.errors.size() == 1);
  CHECK(contains(first_error(kTwo + "merge anerythrism, coal\n"), "9: no locus \"coal\" above"));
  CHECK(contains(first_error(kTwo + "merge anerythrism, anerythrism\n"), "one locus already"));
  CHECK(contains(first_error(first + dominant + "merge anerythrism, charcoal\nsame anery, charcoal\n" + kFound),
                 "10: \"anery\" and \"charcoal\" are not inherited alike"));
  CHECK(
      contains(first_error("sexes ZW\n" + first + "linkage hemizygous\n" + dominant + "merge anerythrism, charcoal\n"),
               "not linked alike"));
  CHECK(contains(first_error(kTwo + "split grey = anery\n"), "wants NAME = ALLELE, ALLELE"));
  CHECK(contains(first_error(kTwo + "split grey = anery, anery\n" + kFound), "two of these are alleles of the locus"));
  CHECK(contains(first_error(kTwo + "split grey = anery, ash\n" + kFound), "no allele \"ash\" above"));
  CHECK(contains(first_error(kTwo + "split grey = anery, charcoal\n"), "gives no source"));
  CHECK(contains(first_error(first + "allele ash, recessive\nalso anery\npair anery, ash, ash\n"),
                 "two alleles called \"anery\""));
}
