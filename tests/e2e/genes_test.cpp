// What was typed about genes and parents, and what the verbs about genes make of it.
#include <algorithm>
#include <cstdlib>
#include <filesystem>

#include "core/base/error.h"
#include "tests/support/typed_book.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;
using Json = nlohmann::json;

namespace {

struct Room : TypedBook {
  Room() {
    for (const char* sire : {"M-1", "M-2"}) add(sire, "male");
    for (const char* dam : {"F-1", "F-2"}) add(dam, "female");
  }
  void add(const std::string& id, const std::string& sex) {
    run({"animal", "add", id, "--species", "corn snake", "--sex", sex});
  }
  /// The chance of a genotype by what people call it.
  double chance(const std::string& animal, const std::string& locus, const std::string& called) {
    const Json answer = json({"genes", animal, "--all"});
    for (const Json& one : answer["genes"]) {
      if (one["locus"] != locus) continue;
      for (const Json& genotype : one["genotypes"]) {
        if (genotype["called"] == called) return genotype["chance"];
      }
      return 0;
    }
    return -1;
  }
};

bool near(double a, double b) {
  return std::abs(a - b) < 1e-9;
}

}  // namespace

TEST_CASE("young of two hets that do not show it are het at two thirds, and what is withdrawn counts no more") {
  Room room;
  room.run({"says", "M-1", "het", "amel", "--basis", "bought"});
  room.run({"says", "F-1", "het", "amel", "--basis", "bought"});
  room.add("Y-1", "male");
  room.run({"says", "Y-1", "sire", "M-1"});
  room.run({"says", "Y-1", "dam", "F-1"});
  CHECK(near(room.chance("Y-1", "amelanism", "het amel"), 0.5));
  CHECK(near(room.chance("Y-1", "amelanism", "amel"), 0.25));
  room.run({"says", "Y-1", "normal", "--basis", "seen"});
  CHECK(near(room.chance("Y-1", "amelanism", "het amel"), 2.0 / 3));
  const std::string text = room.run({"genes", "Y-1"}).out;
  CHECK(text.find("66.7 % het amel, 33.3 % carries nothing") != std::string::npos);
  CHECK(text.find("F-1: said to be het amel, as bought (") != std::string::npos);
  room.run({"void", "Y-1"});
  CHECK(near(room.chance("Y-1", "amelanism", "amel"), 0.25));
}

TEST_CASE("odds of a pair, whichever is named first; expected numbers and the chance of at least one") {
  Room room;
  room.run({"says", "M-1", "visual", "amel"});
  room.run({"says", "F-1", "het", "amel"});
  for (const auto& pair : {std::pair{"M-1", "F-1"}, std::pair{"F-1", "M-1"}}) {
    const Json odds = room.json({"odds", pair.first, pair.second, "--eggs", "4", "--want", "amel"});
    CHECK(odds["sire"] == "M-1");
    CHECK(odds["young"].size() == 2);
    CHECK(near(odds["young"][0]["chance"], 0.5));
    CHECK(near(odds["wanted"]["at_least_one"], 0.9375));
    CHECK(near(odds["wanted"]["expected"], 2));
  }
  CHECK(room.try_run({"odds", "M-1", "M-2"}).status == fault_info(Fault::bad_input).exit_status);
  CHECK(room.try_run({"odds", "M-1", "M-1"}).status == fault_info(Fault::bad_input).exit_status);
  CHECK(room.try_run({"odds", "M-1", "F-1", "--want", "amell"}).err.find("it has amel") != std::string::npos);
}

TEST_CASE("what may harm is said once, with its source, and what is disputed as what most say") {
  Room room;
  for (const char* id : {"P-1", "P-2"}) {
    room.run({"animal", "add", id, "--species", "ball python", "--sex", id == std::string("P-1") ? "male" : "female"});
    room.run({"says", id, "visual", "spider", "--basis", "seen"});
  }
  const std::string text = room.run({"odds", "P-1", "P-2"}).out;
  CHECK(text.find("not to live because of the genes below") != std::string::npos);
  CHECK(text.find("if, as most say, it does not live") != std::string::npos);
  CHECK(text.find("Rose & Williams 2014") != std::string::npos);
  CHECK(text.find("no source given") == std::string::npos);
  CHECK(text.find("does not live") == text.rfind("does not live"));
}

TEST_CASE("where a gene is sex-linked the odds of sons and of daughters stand apart") {
  // The pattern: Mallery & Carrillo 2016, Phyllomedusa 15(1):29-42; 0.05 is the shipped setting.
  Room room;
  const auto add = [&](const char* id, const char* sex) {
    room.run({"animal", "add", id, "--species", "ball python", "--sex", sex});
  };
  add("P-1", "male");
  add("P-2", "female");
  add("P-3", "male");
  room.run({"says", "P-1", "het", "coral glow", "--basis", "bought"});
  room.run({"says", "P-3", "sire", "P-1"});
  room.run({"says", "P-3", "dam", "P-2"});
  room.run({"says", "P-3", "visual", "coral glow", "--basis", "seen"});
  add("P-4", "female");
  const Json odds = room.json({"odds", "P-3", "P-4"});
  double sons = 0;
  for (const Json& row : odds["young"]) {
    if (row["sex"] == "male" && row["look"] == "coral glow") sons = row["chance"];
  }
  CHECK(near(sons, 0.95 / 2));
  const std::string text = room.run({"odds", "P-3", "P-4"}).out;
  CHECK(text.find("Of the males (50 % of the young):") != std::string::npos);
  CHECK(text.find("95 %") != std::string::npos);
}

TEST_CASE("kinship is told with two digits, and as at least that where a sire is one of several") {
  // First cousins: 1/16, Wright 1922.
  Room room;
  const auto born = [&](const char* id, const char* sex, const char* sire, const char* dam) {
    room.add(id, sex);
    if (*sire) room.run({"says", id, "sire", sire});
    room.run({"says", id, "dam", dam});
  };
  born("A-1", "male", "M-1", "F-1");
  born("A-2", "female", "M-1", "F-1");
  born("B-1", "male", "A-1", "F-2");
  born("B-2", "female", "M-2", "A-2");
  const std::string cousins = room.run({"kin", "B-1", "B-2"}).out;
  CHECK(cousins.find("coefficient of kinship 6.25 %") != std::string::npos);
  CHECK(room.run({"odds", "B-1", "B-2"}).out.find("Inbreeding (F) of the young: 6.25 %") != std::string::npos);
  born("B-3", "female", "", "A-2");
  for (const char* sire : {"M-1", "M-2"}) room.run({"says", "B-3", "possible-sire", sire});
  CHECK(room.run({"kin", "B-1", "B-3"}).out.find("at least 6.25 %") != std::string::npos);
  CHECK(room.run({"odds", "M-1", "F-2"}).out.find("They may be related all the same.") != std::string::npos);
}

TEST_CASE("of possible sires the young tell which it was") {
  Room room;
  room.run({"says", "M-1", "het", "amel"});
  room.run({"says", "F-1", "visual", "amel"});
  for (const char* id : {"Y-1", "Y-2"}) {
    room.run({"animal", "add", id, "--species", "corn snake", "--hatched", "2026-08-01"});
    room.run({"says", id, "dam", "F-1"});
    for (const char* sire : {"M-1", "M-2"}) room.run({"says", id, "possible-sire", sire});
  }
  room.run({"says", "Y-1", "visual", "amel", "--basis", "seen"});
  // M-2 carries nothing, so M-1 sired both: the clutch mate's odds are a half, not a quarter.
  CHECK(near(room.chance("Y-2", "amelanism", "amel"), 0.5));
}

TEST_CASE("two fathers in one clutch are named where its young contradict one another, and can be said") {
  // Two fathers in a clutch: Blouin-Demers, Gibbs & Weatherhead 2005, Anim Behav 69:225-234 (abstract).
  Room room;
  room.run({"says", "M-1", "visual", "amel"});
  room.run({"says", "M-2", "visual", "anery"});
  for (const char* gene : {"amel", "anery"}) room.run({"says", "F-1", "visual", gene});
  for (const char* id : {"Y-1", "Y-2"}) {
    room.run({"animal", "add", id, "--species", "corn snake", "--hatched", "2026-08-01"});
    room.run({"says", id, "dam", "F-1"});
    for (const char* sire : {"M-1", "M-2"}) room.run({"says", id, "possible-sire", sire});
  }
  room.run({"says", "Y-1", "visual", "amel", "--basis", "seen"});
  CHECK(room.run({"genes", "Y-2"}).out.find("wo fathers") == std::string::npos);
  room.run({"says", "Y-2", "visual", "anery", "--basis", "seen"});
  CHECK(room.run({"doubt"}).out.find("Two fathers in one clutch happen") != std::string::npos);
  const Run genes = room.run({"genes", "Y-2"});
  CHECK((genes.out + genes.err).find("Two fathers in one clutch happen") != std::string::npos);
  room.run({"says", "Y-1", "sire", "M-1"});
  room.run({"says", "Y-2", "sire", "M-2"});
  CHECK(room.json({"doubt"}).empty());
  CHECK(near(room.chance("Y-2", "anerythrism", "anery"), 1));
}

TEST_CASE("what cannot be is told, and doubt names the likeliest wrong record") {
  Room room;
  room.run({"says", "M-1", "visual", "amel"});
  room.run({"says", "F-1", "visual", "amel"});
  room.add("Y-1", "female");
  room.run({"says", "Y-1", "sire", "M-1"});
  room.run({"says", "Y-1", "dam", "F-1"});
  CHECK(room.json({"doubt"}).empty());
  room.run({"says", "Y-1", "normal", "--basis", "seen"});
  const Json doubts = room.json({"doubt"});
  REQUIRE(doubts.size() == 1);
  CHECK(doubts[0]["odds_against"] == "infinite");
  CHECK(!doubts[0]["suspects"].empty());
  CHECK(room.run({"genes", "Y-1"}).out.find("cannot all be true") != std::string::npos);
  CHECK(room.run({"genes", "F-2"}).status == 0);
}

TEST_CASE("parents that cannot be are told by doubt, and others are answered all the same") {
  Room room;
  room.add("Y-1", "male");
  room.run({"says", "Y-1", "sire", "M-1"});
  room.run({"says", "M-1", "sire", "Y-1"});
  const Run doubt = room.run({"doubt"});
  CHECK(doubt.out.find("No record is doubted") == std::string::npos);
  CHECK((doubt.out + doubt.err).find("among its own ancestors (M-1, Y-1)") != std::string::npos);
  const Json told = room.json({"doubt"});
  REQUIRE(told.size() == 1);
  CHECK(told[0]["problem"] == "an animal is among its own ancestors");
  CHECK(told[0]["suspects"].size() == 2);
  CHECK(room.run({"odds", "M-2", "F-2"}).status == 0);
  CHECK(room.run({"kin", "M-2", "F-2"}).status == 0);
  CHECK(room.run({"inbreeding", "F-1"}).status == 0);
}

TEST_CASE("a gene that no catalogue knows is kept as said, told, and counts for nothing") {
  Room room;
  const Run said = room.run({"says", "M-1", "visual", "annery"});
  CHECK(said.out.find("anery") != std::string::npos);
  CHECK(room.run({"genes", "M-1"}).out.find("Not used") != std::string::npos);
  CHECK(room.run({"doubt"}).out.find("is not used") != std::string::npos);
}

TEST_CASE("the keeper's own catalogue counts for all animals of the species, and can be dropped") {
  Room room;
  const std::string path = room.folder / "corn.genes";
  std::string text = room.json({"catalogue", "show", "corn-snake"})["text"];
  write_text(path, text + "\nlocus of my own\nmemory seen in one line here\nallele rosewood, recessive\n");
  room.run({"says", "M-1", "visual", "rosewood"});
  room.run({"catalogue", "use", path, "--dry-run"});
  CHECK(room.run({"genes", "M-1"}).out.find("Not used") != std::string::npos);
  room.run({"catalogue", "use", path});
  CHECK(near(room.chance("M-1", "of my own", "rosewood"), 1));
  write_text(path, text + "\nlocus broken\nallele nothing, sometimes\n");
  const Run refused = room.try_run({"catalogue", "use", path});
  CHECK(refused.status == fault_info(Fault::bad_input).exit_status);
  CHECK(refused.err.find("line ") != std::string::npos);
  CHECK(near(room.chance("M-1", "of my own", "rosewood"), 1));
  room.run({"catalogue", "drop", "corn-snake"});
  CHECK(room.chance("M-1", "of my own", "rosewood") == -1);
}

TEST_CASE("plans, proofs and kinship answer from the same book") {
  Room room;
  room.run({"says", "M-1", "visual", "amel"});
  room.run({"says", "F-1", "visual", "anery"});
  room.run({"says", "F-2", "possible-het", "amel", "--chance", "66"});
  const Json plan = room.json({"plan", "amel", "anery"});
  CHECK(plan["pairs"].empty());
  REQUIRE(!plan["two_generations"].empty());
  CHECK(plan["two_generations"][0]["then"] == "with each other");
  CHECK(near(plan["two_generations"][0]["each"], 1.0 / 16));
  CHECK(near(plan["two_generations"][0]["inbreeding"], 0.25));
  const Json proof = room.json({"prove", "F-2", "amel"});
  CHECK(near(proof["carries"], 2.0 / 3));
  // (2/3 · 2^-n) / (2/3 · 2^-n + 1/3) is at most 0.05 first at n = 6: 2 · 0.5^6 / (1 + 2 · 0.5^6) = 0.030.
  CHECK(proof["mates"][0]["mate"] == "M-1");
  CHECK(proof["mates"][0]["young_95"] == 6);
  room.add("Y-1", "male");
  room.run({"says", "Y-1", "sire", "M-1"});
  room.run({"says", "Y-1", "dam", "F-1"});
  CHECK(near(room.json({"kin", "Y-1", "M-1"})["kinship"], 0.25));
  CHECK(room.json({"inbreeding"}).empty());
}

namespace {

/// The text on printed paper, on one line.
std::string text_of_pdf(const Room& room, const std::string& pdf) {
  const std::string text = room.folder / "text.txt";
  REQUIRE(std::system(("pdftotext -layout '" + pdf + "' '" + text + "'").c_str()) == 0);
  std::string out = read_text(text);
  std::replace(out.begin(), out.end(), '\n', ' ');
  return out;
}

std::string card_of(const Room& room, const std::string& verb, const std::string& animal) {
  const std::string pdf = room.folder / (verb + animal + ".pdf");
  room.run({"label", verb, animal, "--sheet", "a4-2x4", "--out", pdf});
  return text_of_pdf(room, pdf);
}

bool says(const std::string& text, const std::string& words) {
  return text.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("cards say what the parents promise, dated, with how it is known and what the words mean") {
  Room room;
  room.run({"says", "M-1", "het", "amel", "--basis", "bought"});
  room.run({"says", "F-1", "het", "amel", "--basis", "bought"});
  room.run({"says", "F-1", "visual", "anery", "--basis", "seen"});
  room.add("Y-1", "male");
  room.run({"says", "Y-1", "sire", "M-1"});
  room.run({"says", "Y-1", "dam", "F-1"});
  room.run({"says", "Y-1", "normal", "--basis", "seen"});
  for (const char* verb : {"animals", "hatchlings", "sale"}) {
    const std::string card = card_of(room, verb, "Y-1");
    CAPTURE(verb, card);
    CHECK(says(card, "66 % het amel (by parents)"));  // 2/3, as the trade rounds it
    CHECK(says(card, "het anery"));
    CHECK(says(card, "het = one hidden copy"));
    CHECK(says(card, "% = the chance of it"));
    CHECK(says(card, verb == std::string("sale") ? "as recorded on" : "the chance of it on"));
  }
  CHECK(says(card_of(room, "sale", "Y-1"), "het anery (by parents)"));
}

TEST_CASE(
    "a card claims less when the odds fell, and is not printed when they contradict it, until the keeper says so") {
  Room room;
  room.run({"says", "M-1", "possible-het", "anery", "--chance", "66", "--basis", "bought"});
  room.run({"says", "F-1", "visual", "anery", "--basis", "seen"});
  CHECK(says(card_of(room, "sale", "M-1"), "66 % het anery (as bought)"));
  const auto hatch = [&](int number) {
    const std::string id = "Y-" + std::to_string(number);
    room.add(id, "female");
    room.run({"says", id, "sire", "M-1"});
    room.run({"says", id, "dam", "F-1"});
    room.run({"says", id, "normal", "--basis", "seen"});
  };
  for (int i = 1; i <= 3; ++i) hatch(i);
  // 2/3 / 8 over that and 1/3: a fifth.
  CHECK(says(card_of(room, "sale", "M-1"), "20 % het anery (by all that is recorded)"));
  for (int i = 4; i <= 6; ++i) hatch(i);
  const Run refused = room.try_run({"label", "sale", "M-1", "--out", room.folder / "no.pdf"});
  CHECK(refused.status == fault_info(Fault::bad_input).exit_status);
  CHECK(says(refused.err, "66 % het anery"));
  CHECK(says(refused.err, "rackside says M-1 not"));
  CHECK(!std::filesystem::exists(room.folder / "no.pdf"));
  // The others of a batch are printed, and the one left out is told.
  const Run batch = room.run({"label", "animals", "--out", room.folder / "all.pdf"});
  CHECK(says(batch.err + batch.out, "No card of M-1 is printed"));
  // Four parents and six young, less one.
  CHECK(room.json({"label", "animals", "--out", room.folder / "all.pdf"})["proven"].size() == 9);
  room.run({"says", "M-1", "not", "anery", "--basis", "proven"});
  CHECK(!says(card_of(room, "sale", "M-1"), "anery"));
}

TEST_CASE("what an eye was not sure of stands on a card with its figure") {
  Room room;
  room.run({"says", "M-1", "visual", "amel", "--basis", "seen", "--certainty", "think-so", "--or", "hypo"});
  const std::string card = card_of(room, "sale", "M-1");
  CAPTURE(card);
  CHECK(!says(card, "perhaps"));
  CHECK(says(card, "% amel or hypo (as seen)"));
}

TEST_CASE("two chances that are known alike say so, and a card is of the day of the newest record in the family") {
  Room room;
  room.run({"says", "M-1", "het", "amel", "--basis", "bought", "--note", "x"});
  for (const char* gene : {"amel", "anery"}) room.run({"says", "F-1", "het", gene, "--basis", "bought"});
  room.add("Y-1", "male");
  room.run({"says", "Y-1", "sire", "M-1"});
  room.run({"says", "Y-1", "dam", "F-1"});
  room.run({"says", "Y-1", "normal", "--basis", "seen"});
  const std::string card = card_of(room, "animals", "Y-1");
  CAPTURE(card);
  CHECK(says(card, "66 % het amel"));
  CHECK(says(card, "50 % het anery (both by parents)"));
}

TEST_CASE("what an animal shows stands in its line beside what it carries, first") {
  Room room;
  room.run({"animal", "add", "P-1", "--species", "ball python", "--sex", "male"});
  room.run({"says", "P-1", "het", "lavender albino"});
  room.run({"says", "P-1", "het", "clown"});
  room.run({"says", "P-1", "visual", "albino"});
  room.run({"says", "P-1", "possible-het", "piebald", "--chance", "66"});
  const std::string text = room.run({"show", "P-1"}).out;
  CAPTURE(text);
  CHECK(says(text, "albino, het lavender albino, het clown"));
  CHECK(says(text, "possible  66 % het piebald"));
}

TEST_CASE("two names that turn out to be one gene, and one that turns out to be two, by an edit of the catalogue") {
  Room room;
  const std::string path = room.folder / "corn.genes";
  const std::string text = room.json({"catalogue", "show", "corn-snake"})["text"];
  room.run({"says", "M-1", "het", "anery", "--basis", "bought"});
  room.run({"says", "F-1", "het", "charcoal", "--basis", "bought"});
  room.add("Y-1", "male");
  room.run({"says", "Y-1", "sire", "M-1"});
  room.run({"says", "Y-1", "dam", "F-1"});
  CHECK(near(room.chance("Y-1", "anerythrism", "anery"), 0));

  const std::string merged =
      text + "\nmerge anerythrism, charcoal\nsame anery, charcoal\nmemory our own test breeding\n";
  write_text(path, merged);
  const std::string used = room.run({"catalogue", "use", path}).out;
  CHECK(used.find("charcoal is another name of anery: from memory, unverified: our own test breeding.") !=
        std::string::npos);
  CHECK(near(room.chance("Y-1", "anerythrism", "anery"), 0.25));
  CHECK(room.run({"genes", "Y-1"}).out.find("F-1: said to be het charcoal") != std::string::npos);
  room.run({"catalogue", "drop", "corn-snake"});
  CHECK(near(room.chance("Y-1", "anerythrism", "anery"), 0));
  CHECK(near(room.chance("F-1", "charcoal", "het charcoal"), 1));

  write_text(path, text +
                       "\nlocus second anery\nmemory our own\nallele anery B, recessive\n"
                       "split anery = anery, anery B\nmemory our own test breeding\n");
  CHECK(room.run({"catalogue", "use", path, "--dry-run"}).out.find("weighed over them: anery (1)") !=
        std::string::npos);
  CHECK(near(room.chance("M-1", "anerythrism", "het anery"), 1));
  room.run({"catalogue", "use", path});
  const double first = room.chance("M-1", "anerythrism", "het anerythrism/anery");
  CHECK(first > 0.5);
  CHECK(near(first, room.chance("M-1", "second anery", "het anery B")));
  CHECK(room.try_run({"prove", "M-1", "anery"}).err.find("is the name of several genes") != std::string::npos);
  CHECK(room.run({"says", "M-2", "het", "anery"}).out.find("say anerythrism/anery or second anery/anery B") !=
        std::string::npos);

  // A catalogue that forgets a name says so before it is taken.
  std::string without = text;
  const auto at = without.find("locus charcoal");
  without.erase(at, without.find("locus hypomelanism") - at);
  write_text(path, without);
  CHECK(room.run({"catalogue", "use", path, "--dry-run"}).out.find("not in this catalogue: charcoal (1)") !=
        std::string::npos);
}
