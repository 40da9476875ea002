// What a geneticist's review of the program's answers found wrong, each with the answer worked out by hand.
#include "core/genetics/pairing.h"
#include "core/genetics/phrases.h"
#include "core/genetics/said.h"
#include "tests/support/genetics_world.h"

using namespace rackside::core::genetics;
using namespace rackside::tests;

namespace {

const std::string kMany =
    "locus one\nmemory a test\nallele amel, recessive\n"
    "locus two\nmemory a test\nallele hypo, recessive\n"
    "locus three\nmemory a test\nallele pastel, incomplete, super pastel\n"
    "locus four\nmemory a test\nallele spider, dominant\nlethal spider, spider\n"
    "locus five\nmemory a test\nallele albino one, recessive\nalso albino\n"
    "locus six\nmemory a test\nallele albino two, recessive\nalso albino\n"
    "hides amel, hypo\nmemory a test\n";

AlleleRef allele(const Tale& tale, const std::string& name) {
  return tale.species->find_allele(name).front();
}

std::vector<std::string> proving(const Tale& tale, const Inference& inference, AnimalIndex animal, AnimalIndex mate,
                                 const std::string& name) {
  std::vector<std::string> out;
  const AlleleRef ref = allele(tale, name);
  for (const std::uint8_t look : proving_looks(inference, animal, mate, ref))
    out.push_back(look_name(*tale.species, {ref.locus, look}));
  return out;
}

void say(Tale& tale, AnimalIndex animal, const SaidOfGene& said, std::uint32_t author = 1) {
  for (Statement one : understand(*tale.species, said).statements) {
    one.animal = animal;
    one.author = author;
    tale.collection.statements.push_back(std::move(one));
  }
}

}  // namespace

TEST_CASE("what proves a gene that shows in one copy depends on the mate, and five normal young clear a 50 % one") {
  Tale tale(kMany);
  const auto he = tale.male();
  const auto normal = tale.female();
  const auto pastel = tale.female();
  const auto hopeful = tale.male();
  const auto spider = tale.female();
  tale.possible(he, "pastel", 0.5);
  tale.het(pastel, "pastel");
  tale.possible(hopeful, "spider", 0.5);
  tale.het(spider, "spider");
  const Inference inference = tale.infer();
  CHECK(proving(tale, inference, he, normal, "pastel") == std::vector<std::string>{"pastel"});
  CHECK(proving(tale, inference, he, pastel, "pastel") == std::vector<std::string>{"super pastel"});
  // Half its young would be pastel: 1/2 0.5^n over that and 1/2, which is under 5 % from five young on.
  CHECK(young_to_prove(inference, he, normal, allele(tale, "pastel"), 0.95) == 5);
  CHECK(nearly(*carrier_after(inference, he, normal, allele(tale, "pastel"), 4), 1.0 / 17));
  // With a pastel mate only one in four would be super pastel: 0.75^n.
  CHECK(young_to_prove(inference, he, pastel, allele(tale, "pastel"), 0.95) == 11);
  // Two spiders: their young are spiders or normal whoever carries it, for two copies do not live.
  CHECK(proving(tale, inference, hopeful, spider, "spider").empty());
  CHECK(!young_to_prove(inference, hopeful, spider, allele(tale, "spider"), 0.95));
  CHECK(proving(tale, inference, hopeful, normal, "spider") == std::vector<std::string>{"spider"});
}

TEST_CASE("a founder called by a name of two genes shows one of them, not both; young of two such are not all alike") {
  Tale tale(kMany);
  const auto he = tale.male();
  const auto she = tale.female();
  for (const auto parent : {he, she}) say(tale, parent, {.state = "visual", .genes = {"albino"}, .basis = "bought"});
  // The same once more, by another, says no more.
  say(tale, he, {.state = "visual", .genes = {"albino"}, .basis = "bought"}, 2);
  const auto inference = tale.infer();
  const auto shows = [&](const std::string& name) {
    const AlleleRef ref = allele(tale, name);
    const auto odds = inference.odds(he, ref.locus);
    double out = 0;
    for (std::size_t i = 0; i < odds.size(); ++i)
      out += inference.states(ref.locus).copies(i, ref.allele) == 2 ? odds[i] : 0;
    return out;
  };
  CHECK(nearly(shows("albino one"), 0.5));
  CHECK(nearly(shows("albino two"), 0.5));
  // Of one locus in half of the pairs; else the young are normal, but for a copy that an albino may hide of the other
  // gene: one in eleven of those who do not show it have one at each place of two, by the share of 0.1 (our choice).
  const Forecast young = forecast(inference, he, she);
  double normal = 0;
  for (const LookRow& row : young.rows) normal += row.looks.empty() ? row.chance : 0;
  CHECK(normal > 0.35);
  CHECK(normal < 0.5);
}

TEST_CASE("a possible sire of whom nothing is known is as likely as a stranger of whom nothing is known") {
  Tale tale(kMany);
  const auto named = tale.male();
  const auto dam = tale.female();
  tale.het(dam, "amel");
  tale.collection.sirings.push_back({{{named, 1}, {kNobody, 1}}, 0});
  const auto young = tale.female();
  tale.collection.animals[young].dam = dam;
  tale.collection.animals[young].siring = 0;
  tale.visual(young, "amel");
  const auto inference = tale.infer();
  CHECK(nearly(inference.siring(0)[0], 0.5));
  CHECK(nearly(inference.siring(0)[1], 0.5));
  // A tenth of the copies, by our choice: 0.01, 0.18 and 0.81 have two, one and none, and give amel young with 1/2, 1/4
  // and 0. Half the time he is the sire: 0.05 and 0.45 of all, else as beforehand: 0.005, 0.09, 0.405.
  CHECK(nearly(tale.carries(inference, named, "amel"), 0.595));
  CHECK(inference.problems().empty());
  // Told to look normal he is the less likely one, and still not out of it.
  tale.looks_normal(named);
  const auto seen = tale.infer();
  CHECK(nearly(seen.siring(0)[0], 0.18 / 4 / (0.18 / 4 + 0.99 * 0.05)));
  CHECK(nearly(tale.carries(seen, named, "amel"), 0.054 / 0.0945));
}

TEST_CASE("of a registered and an unregistered parent what their young shows speaks for both") {
  Tale tale(kMany);
  const auto dam = tale.female();
  tale.looks_normal(dam);
  const auto young = tale.male();
  tale.collection.animals[young].dam = dam;
  tale.het(young, "amel");
  const auto inference = tale.infer();
  // A normal-looking founder is het with 0.18/0.99 and gives the copy half the time; the stranger gives it with 0.1.
  const double gives = 0.18 / 0.99 / 2;
  CHECK(nearly(tale.carries(inference, dam, "amel"), 0.18 / 0.99 / 2 / (gives * 0.9 + (1 - gives) * 0.1)));
  // The same when the young comes later.
  Tale before(kMany);
  const auto first = before.female();
  before.looks_normal(first);
  Inference grown = before.infer();
  grown.extend(tale.collection);
  CHECK(nearly(tale.carries(grown, dam, "amel"), tale.carries(inference, dam, "amel")));
}

TEST_CASE("what one look hides nobody saw to be missing: an amel of two hets for hypo is hypo with one in four") {
  for (const bool hidden : {true, false}) {
    Tale tale(kMany);
    const auto he = tale.male();
    const auto she = tale.female();
    for (const auto parent : {he, she}) {
      tale.het(parent, "amel");
      tale.het(parent, "hypo");
    }
    const auto young = tale.young(he, she);
    if (hidden) tale.visual(young, "amel");
    tale.looks_normal(young);
    const auto inference = tale.infer();
    const AlleleRef hypo = allele(tale, "hypo");
    const auto odds = inference.odds(young, hypo.locus);
    double two = 0;
    for (std::size_t i = 0; i < odds.size(); ++i)
      two += inference.states(hypo.locus).copies(i, hypo.allele) == 2 ? odds[i] : 0;
    CAPTURE(hidden);
    CHECK(nearly(two, hidden ? 0.25 : 0));
    CHECK(nearly(tale.carries(inference, young, "hypo"), hidden ? 0.75 : 2.0 / 3));
  }
}

TEST_CASE("who says that he cannot tell a look does not say that it is missing") {
  Tale tale(kMany);
  const auto he = tale.male();
  const auto she = tale.female();
  for (const auto parent : {he, she}) tale.het(parent, "hypo");
  const auto young = tale.young(he, she);
  say(tale, young, {.state = "normal"}, 1);
  CHECK(nearly(tale.carries(tale.infer(), young, "hypo"), 2.0 / 3));
  say(tale, young, {.state = "visual", .genes = {"hypo"}, .certainty = "cannot-tell"}, 1);
  CHECK(nearly(tale.carries(tale.infer(), young, "hypo"), 0.75));
  // Another helper's eyes saw it normal.
  say(tale, young, {.state = "normal"}, 2);
  CHECK(nearly(tale.carries(tale.infer(), young, "hypo"), 2.0 / 3));
}

namespace {

/// What each row says of copies that do not show, against a young in the book that looks so.
void check_rows(const Tale& tale, AnimalIndex he, AnimalIndex she) {
  const Inference inference = tale.infer();
  const Forecast made = forecast(inference, he, she);
  REQUIRE(!made.rows.empty());
  for (const LookRow& row : made.rows) {
    Tale grown = tale;
    const auto young = grown.young(he, she, row.sex);
    for (const Part& part : row.looks)
      grown.collection.statements.push_back({.animal = young, .options = {{part.locus, part.look, 0, 0}}});
    grown.looks_normal(young);
    const Inference after = grown.infer();
    CAPTURE(name_of(*tale.species, row), static_cast<int>(row.sex));
    for (std::size_t place = 0; place < made.loci.size(); ++place) {
      const std::uint16_t locus = made.loci[place].locus;
      const auto odds = after.odds(young, locus);
      double het = 0;
      for (std::size_t i = 0; i < odds.size(); ++i) {
        const States& states = after.states(locus);
        het += states.copies(i, 1) == 1 && !states[i].single ? odds[i] : 0;
      }
      CHECK(std::abs(row.het[place][1] - het) < 1e-9);
    }
  }
}

}  // namespace

TEST_CASE("what young of a row carry unseen is what such a young in the book carries, given all that it shows") {
  Tale albinos(kMany);
  const auto he = albinos.male();
  const auto she = albinos.female();
  for (const auto parent : {he, she}) say(albinos, parent, {.state = "visual", .genes = {"albino"}, .basis = "bought"});
  check_rows(albinos, he, she);
  // A normal young has one gene of each albinism from parents of whom one is of either: it is het for both.
  const Forecast made = forecast(albinos.infer(), he, she);
  for (const LookRow& row : made.rows) {
    if (!row.looks.empty()) continue;
    for (const auto& het : row.het) CHECK(nearly(het[1], 1));
  }
}

TEST_CASE("sons and daughters have rows of their own also where only what does not show differs") {
  Tale tale("sexes ZW\nlocus one\nmemory a test\nlinkage hemizygous\nallele pale, recessive\n");
  const auto father = tale.male();
  const auto mother = tale.female();
  tale.het(father, "pale");
  tale.visual(mother, "pale");
  check_rows(tale, father, mother);
  // Half of each sex looks normal: those sons are all het from their mother, the daughters have one Z and are free.
  const Forecast made = forecast(tale.infer(), father, mother);
  REQUIRE(made.rows.size() == 4);
  for (const LookRow& row : made.rows) {
    CHECK(nearly(row.chance, 0.25));
    if (row.looks.empty()) CHECK(nearly(row.het[0][1], row.sex == Sex::male ? 1 : 0));
  }
}

TEST_CASE("a catalogue's hiding names two looks of two loci") {
  const auto errors = [](const std::string& line) {
    const auto read = read_catalogue("rackside genes 1\nspecies invented snake, Serpens ficta\nsexes ZW\n" + kMany +
                                     line + "\nmemory a test\n");
    return read.errors.empty() ? std::string() : read.errors.front().message;
  };
  CHECK(errors("hides pastel, hypo").empty());
  CHECK(errors("hides pastel").find("wants the look that shows") != std::string::npos);
  CHECK(errors("hides pastel, glow").find("no look \"glow\"") != std::string::npos);
  CHECK(errors("hides pastel, super pastel").find("of looks of two loci") != std::string::npos);
  CHECK(errors("hides albino, hypo").find("write LOCUS/LOOK") == std::string::npos);
}

TEST_CASE("a doubt between two genes is one doubt: nine times in ten just one of them, or of one name at least one") {
  Tale tale(kMany);
  const auto he = tale.male();
  const auto she = tale.female();
  for (const auto parent : {he, she}) {
    for (const auto* gene : {"amel", "hypo", "albino one", "albino two"}) tale.het(parent, gene);
  }
  const auto two_names = tale.young(he, she);
  say(tale, two_names, {.state = "visual", .genes = {"hypo", "albino one"}, .certainty = "think-so"});
  const auto three = tale.young(he, she);
  say(tale, three, {.state = "visual", .genes = {"amel", "hypo", "albino one"}, .certainty = "think-so"});
  const auto hiding = tale.young(he, she);
  say(tale, hiding, {.state = "visual", .genes = {"amel", "hypo"}, .certainty = "think-so"});
  const auto one_name = tale.young(he, she);
  say(tale, one_name, {.state = "visual", .genes = {"albino"}, .certainty = "think-so"});
  const auto bought = tale.male();
  say(tale, bought, {.state = "visual", .genes = {"albino"}, .basis = "bought", .certainty = "think-so"});
  REQUIRE(nearly(tale.species->think_so, 0.9));
  const Inference inference = tale.infer();
  const auto shows = [&](AnimalIndex animal, const std::string& name) {
    const AlleleRef ref = allele(tale, name);
    const States& states = inference.states(ref.locus);
    double out = 0;
    for (std::size_t i = 0; i < states.size(); ++i) {
      if (states.copies(i, ref.allele) == 2) out += inference.odds(animal, ref.locus)[i];
    }
    return out;
  };
  // Of sixteen young three show one only, three the other only, one both and nine neither.
  for (const auto* gene : {"hypo", "albino one"})
    CHECK(nearly(shows(two_names, gene), (0.9 * 3 + 0.1 * 1) / (0.9 * 6 + 0.1 * 10)));
  // Of a hiding look and two others: amel shows alone in 12 of 64, hypo in 9 and the third in 9 (amel hides hypo); hypo
  // is there in 12 of those 30 and in 4 of the 34 others.
  const double all = 0.9 * 30 + 0.1 * 34;
  CHECK(nearly(shows(three, "amel"), (0.9 * 12 + 0.1 * 4) / all));
  CHECK(nearly(shows(three, "hypo"), (0.9 * 12 + 0.1 * 4) / all));
  CHECK(nearly(shows(three, "albino one"), (0.9 * 9 + 0.1 * 7) / all));
  // Amel hides hypo: what has both looks like one of them.
  for (const auto* gene : {"amel", "hypo"}) CHECK(nearly(shows(hiding, gene), 0.9 * 4 / (0.9 * 7 + 0.1 * 9)));
  for (const auto* gene : {"albino one", "albino two"}) {
    CHECK(nearly(shows(one_name, gene), 0.9 * 4 / (0.9 * 7 + 0.1 * 9)));
    // Neither, both, or either one of them were equally likely of an animal of which that is all that is known.
    CHECK(nearly(shows(bought, gene), (0.9 + 0.1) / (0.9 * 2 + 0.1 * 2)));
  }
}

TEST_CASE("a look called unseen takes nothing back of the normal look that was said") {
  Tale tale(kMany);
  const auto he = tale.male();
  const auto she = tale.female();
  for (const auto parent : {he, she}) tale.het(parent, "pastel");
  const auto young = tale.young(he, she);
  say(tale, young, {.state = "normal"});
  say(tale, young, {.state = "unseen", .genes = {"super pastel"}}, 2);
  const AlleleRef pastel = allele(tale, "pastel");
  CHECK(nearly(tale.carries(tale.infer(), young, "pastel"), 0));
  // Who thinks so says it once, by both words: of four young three show a pastel, a tenth of which he misses.
  const auto other = tale.young(he, she);
  say(tale, other, {.state = "normal", .certainty = "think-so"});
  const double once = tale.infer().odds(other, pastel.locus)[0];
  say(tale, other, {.state = "unseen", .genes = {"super pastel"}, .certainty = "think-so"});
  CHECK(nearly(tale.infer().odds(other, pastel.locus)[0], once));
}
