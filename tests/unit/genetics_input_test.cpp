// Catalogues and collections that are wrong: named, and the rest is answered.
#include <algorithm>

#include "core/genetics/kinship.h"
#include "tests/support/genetics_world.h"

using namespace rackside::core::genetics;
using namespace rackside::tests;

namespace {

std::string first_error(const std::string& text) {
  const auto read = read_catalogue(text);
  return read.errors.empty() ? "" : std::to_string(read.errors.front().line) + ": " + read.errors.front().message;
}

const std::string kHead = "rackside genes 1\nspecies invented snake, Serpens ficta\n";
const std::string kRecessive = "locus one\nmemory a test\nallele amel, recessive\n";

bool has(const Inference& inference, Problem::Kind kind, AnimalIndex animal) {
  return std::any_of(inference.problems().begin(), inference.problems().end(), [&](const Problem& problem) {
    return problem.kind == kind && std::count(problem.animals.begin(), problem.animals.end(), animal) > 0;
  });
}

}  // namespace

TEST_CASE("every shipped catalogue reads without an error, and each locus says where it comes from") {
  CHECK(shipped_catalogues().size() >= 4);
  for (const ShippedCatalogue& one : shipped_catalogues()) {
    const auto read = read_catalogue(one.text);
    for (const CatalogueError& error : read.errors) FAIL_CHECK(one.name << " " << error.line << ": " << error.message);
    for (const Locus& locus : read.species.loci) CHECK(locus.source.kind != Source::Kind::none);
  }
}

TEST_CASE("one trade name can be alleles of two loci") {
  for (const ShippedCatalogue& one : shipped_catalogues()) {
    if (one.name == "black-rat-snake") CHECK(read_catalogue(one.text).species.find_allele("Albino").size() == 2);
  }
}

TEST_CASE("a catalogue's errors name their line and what to do") {
  CHECK(contains(first_error(""), "1: the catalogue is empty"));
  CHECK(contains(first_error("genes\n"), "1: the first line is not"));
  CHECK(contains(first_error(kHead + "locus one\nmemory t\nallele a, recessive\nallele b, recessive\n"),
                 "add \"pair a, b, LOOK\""));
  CHECK(contains(first_error(kHead + kRecessive + "pair amel, wide, amel\n"),
                 "6: the locus \"one\" has no allele \"wide\""));
  CHECK(contains(first_error(kHead + "locus one\nallele a, recessive\n"), "gives no source"));
  CHECK(contains(first_error(kHead + "locus one\nmemory t\nallele a, sometimes\n"), "not \"sometimes\""));
  CHECK(contains(first_error(kHead + kRecessive + "frequency 1.5\n"), "no chance from 0 to 1"));
  CHECK(contains(first_error(kHead + "locus one\nmemory t\nlinkage sex-linked 0.1\n"), "\"sexes\" does not say"));
  CHECK(contains(first_error(kHead + kRecessive + "combination x = sky\n"), "no look \"sky\""));
  CHECK(contains(first_error(kHead + "colour red\n"), "3: \"colour\" is no word of this form"));
  CHECK(read_catalogue(kHead + "colour red\nshape long\n").errors.size() == 2);
}

TEST_CASE("an animal that is its own ancestor is named with the records, and others are answered") {
  Tale tale(kRecessive);
  const auto he = tale.male();
  const auto she = tale.female();
  const auto child = tale.young(he, she, Sex::male);
  tale.collection.sirings.back().record = 41;
  tale.collection.sirings.push_back({{{child, 1}}, 42});
  tale.collection.animals[he].siring = static_cast<SiringIndex>(tale.collection.sirings.size() - 1);
  tale.collection.animals[he].dam = she;
  const auto sire = tale.male();
  const auto dam = tale.female();
  tale.het(sire, "amel");
  const auto other = tale.young(sire, dam);
  const Inference inference = tale.infer();
  CHECK(has(inference, Problem::Kind::own_ancestor, he));
  CHECK(has(inference, Problem::Kind::own_ancestor, child));
  const auto& records = inference.problems().front().records;
  CHECK(std::count(records.begin(), records.end(), 41u) == 1);
  CHECK(std::count(records.begin(), records.end(), 42u) == 1);
  CHECK(nearly(tale.carries(inference, other, "amel"), 0.5));
}

TEST_CASE("a ring of parents spoils nobody else's kinship") {
  Tale tale(kRecessive);
  const auto he = tale.male();
  const auto she = tale.female();
  const auto child = tale.young(he, she, Sex::male);
  tale.collection.sirings.push_back({{{child, 1}}, 42});
  tale.collection.animals[he].siring = static_cast<SiringIndex>(tale.collection.sirings.size() - 1);
  const auto grandchild = tale.young(child, she);
  const auto sire = tale.male();
  const auto dam = tale.female();
  const auto brother = tale.young(sire, dam, Sex::male);
  const auto sister = tale.young(sire, dam, Sex::female);
  const Kinship kinship(parents_of(tale.collection));
  // Wright 1922: the young of full brother and sister, 1/4.
  CHECK(kinship.kinship(brother, sister) == 0.25);
  // Nobody in the ring has parents; whoever descends from it keeps his.
  CHECK(kinship.kinship(he, child) == 0);
  CHECK(kinship.kinship(grandchild, child) == 0.25);
}

TEST_CASE("a male mother and a female father are named and not used") {
  Tale tale(kRecessive);
  const auto he = tale.male();
  const auto she = tale.female();
  const auto child = tale.young(she, he);
  const Inference inference = tale.infer();
  CHECK(has(inference, Problem::Kind::male_dam, he));
  CHECK(has(inference, Problem::Kind::female_sire, she));
  CHECK(inference.odds(child, 0).size() == 3);
}

TEST_CASE("statements that exclude each other are named, other animals are answered") {
  Tale tale(kRecessive);
  const auto he = tale.male();
  const auto she = tale.female();
  tale.visual(he, "amel");
  tale.collection.statements.back().record = 7;
  tale.free_of(he, "amel");
  tale.collection.statements.back().record = 8;
  tale.het(she, "amel");
  const auto child = tale.young(tale.male(), she);
  const Inference inference = tale.infer();
  REQUIRE(has(inference, Problem::Kind::excluding_statements, he));
  CHECK(inference.problems().front().records == std::vector<RecordId>{7, 8});
  CHECK(nearly(tale.carries(inference, child, "amel"), 0.5));
}

TEST_CASE("a statement about an allele, a look or an animal that there is not is named and not used") {
  Tale tale(kRecessive);
  const auto he = tale.male();
  tale.collection.statements.push_back({.animal = he, .says = Says::het, .options = {{0, 0, 9, 0}}, .record = 1});
  tale.collection.statements.push_back({.animal = 99, .says = Says::nothing_else, .record = 2});
  tale.collection.statements.push_back({.animal = he, .says = Says::looks, .options = {{4, 0, 0, 0}}, .record = 3});
  const Inference inference = tale.infer();
  CHECK(inference.problems().size() == 3);
  CHECK(nearly(inference.odds(he, 0)[0], 1));
}

TEST_CASE("a visual from two animals of whom nothing is known makes both carriers that nobody knew of") {
  Tale tale(kRecessive);
  const auto he = tale.male();
  const auto she = tale.female();
  tale.visual(tale.young(he, she), "amel");
  const Inference inference = tale.infer();
  CHECK(has(inference, Problem::Kind::hidden_carrier, he));
  CHECK(nearly(tale.carries(inference, he, "amel"), 1));
  CHECK(nearly(tale.carries(inference, she, "amel"), 1));
}

TEST_CASE("only those are named as carrying what nobody knew of whose carrying was not known") {
  Tale tale(kRecessive);
  const auto he = tale.male();
  const auto she = tale.female();
  tale.het(she, "amel");
  tale.visual(tale.young(he, she), "amel");
  const Inference inference = tale.infer();
  CHECK(has(inference, Problem::Kind::hidden_carrier, he));
  CHECK_FALSE(has(inference, Problem::Kind::hidden_carrier, she));
}

TEST_CASE("a family that cannot be gets no answer, its neighbours do") {
  Tale tale(kRecessive);
  const auto he = tale.male();
  const auto she = tale.female();
  tale.free_of(he, "amel");
  tale.free_of(she, "amel");
  const auto child = tale.young(he, she);
  tale.visual(child, "amel");
  const auto other = tale.male();
  tale.het(other, "amel");
  const Inference inference = tale.infer();
  CHECK(has(inference, Problem::Kind::impossible_family, child));
  CHECK(inference.way(child, 0) == Way::no_answer);
  CHECK(nearly(tale.carries(inference, other, "amel"), 1));
}

TEST_CASE("a look that two genes share is one of them, weighed over both") {
  Tale tale(kRecessive + "locus two\nmemory a test\nallele dark, recessive\n");
  const auto he = tale.male();
  const auto she = tale.female();
  tale.het(he, "amel");
  tale.het(she, "amel");
  tale.het(he, "dark");
  tale.possible(she, "dark", 0.5);
  const auto child = tale.young(he, she);
  tale.collection.statements.push_back({.animal = child, .options = {{0, 1, 0, 0}, {1, 1, 0, 0}}});
  const Inference inference = tale.infer();
  // amel and not dark: 1/4 · 7/8; dark and not amel: 3/4 · 1/8.
  CHECK(nearly(inference.odds(child, 0)[2], 7 / 10.0));
  CHECK(nearly(inference.odds(child, 1)[2], 3 / 10.0));
}
