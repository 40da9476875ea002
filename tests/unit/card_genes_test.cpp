// What cards say of genes, and of which day it is.
#include "core/read/card_genes.h"

#include "tests/support/catch.h"
#include "tests/support/world.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {

struct Family {
  Family() {
    for (const char* one : {"sire", "dam", "young", "stranger"})
      world.record(a, Kind::animal, {World::animal(one)},
                   {.own = Value::Object{{"set", Value::Object{{"species", "corn snake"}}}}});
    says("young", Value::Object{{"parent", "sire"}, {"animal", World::animal("sire")}});
    says("young", Value::Object{{"parent", "dam"}, {"animal", World::animal("dam")}});
    says("sire", Value::Object{{"state", "het"}, {"gene", "amel"}});
    says("dam", Value::Object{{"state", "het"}, {"gene", "anery"}});
    says("young", Value::Object{{"state", "normal"}});
  }
  void says(const char* who, Value own) { world.record(a, Kind::says, {World::animal(who)}, {.own = std::move(own)}); }
  CardGenes card(const char* who) {
    Reader reader(a.book());
    return CardGeneSource(reader).of(*reader.thing_of(World::animal(who)));
  }

  World world;
  Device& a = world.device("a");
};

}  // namespace

TEST_CASE("a card is of the day of the newest statement in the family, not of a stranger's") {
  Family family;
  const Instant first = family.world.now;
  CardGenes card = family.card("young");
  REQUIRE(card.possible.size() == 2);
  // Mendel: of a het and a normal parent one in two.
  CHECK(card.possible[0].text == "50 % het amel");
  CHECK(card.newest == first);
  family.world.pass(3 * kDay);
  family.says("stranger", Value::Object{{"state", "visual"}, {"gene", "hypo"}});
  CHECK(family.card("young").newest == first);
  family.world.pass(kDay);
  // Of two hets two in three of those that look normal: what is said of the dam moves her young's chance.
  family.says("dam", Value::Object{{"state", "het"}, {"gene", "amel"}});
  card = family.card("young");
  CHECK(card.possible[0].text == "66 % het amel");
  CHECK(card.newest == first + 4 * kDay);
}

TEST_CASE("of a gene that shows with one copy no hidden copy is printed, but how many there are") {
  World world;
  Device& a = world.device("a");
  const auto card = [&](const char* who, const char* species, const char* state, const char* gene) {
    world.record(a, Kind::animal, {World::animal(who)},
                 {.own = Value::Object{{"set", Value::Object{{"species", species}}}}});
    world.record(a, Kind::says, {World::animal(who)}, {.own = Value::Object{{"state", state}, {"gene", gene}}});
    Reader reader(a.book());
    const CardGenes genes = CardGeneSource(reader).of(*reader.thing_of(World::animal(who)));
    return genes.certain.size() == 1 ? genes.certain.front().text : "not one";
  };
  CHECK(card("one", "ball python", "het", "pastel") == "pastel, one copy");
  CHECK(card("two", "ball python", "homozygous", "pastel") == "super pastel");
  CHECK(card("three", "corn snake", "homozygous", "amel") == "amel");
  CHECK(card("four", "corn snake", "het", "amel") == "het amel");
}

TEST_CASE("what an eye was not sure of has a figure where odds are reckoned, and none where they are not") {
  Family family;
  family.says(
      "stranger",
      Value::Object{{"state", "visual"}, {"gene", "amel"}, {"certainty", "think-so"}, {"or", Value::Array{"hypo"}}});
  family.says("stranger", Value::Object{{"state", "visual"}, {"gene", "a name of ours"}, {"certainty", "think-so"}});
  const CardGenes card = family.card("stranger");
  REQUIRE(card.possible.size() == 2);
  CHECK(card.possible[0].text.ends_with(" % amel or hypo"));
  CHECK(card.possible[1].text == "perhaps a name of ours");
}

namespace {

/// An animal of that species with parents of whom something is said, and what its card says.
struct OneCard {
  explicit OneCard(std::string of_species) : species(std::move(of_species)) {
    for (const char* one : {"sire", "dam", "young", "grandchild"}) add(one);
    parents("young", "sire", "dam");
  }
  void add(const char* who) {
    world.record(a, Kind::animal, {World::animal(who)},
                 {.own = Value::Object{{"set", Value::Object{{"species", species}}}}});
  }
  void parents(const char* who, const char* sire, const char* dam) {
    says(who, Value::Object{{"parent", "sire"}, {"animal", World::animal(sire)}});
    says(who, Value::Object{{"parent", "dam"}, {"animal", World::animal(dam)}});
  }
  void says(const char* who, Value own) { world.record(a, Kind::says, {World::animal(who)}, {.own = std::move(own)}); }
  void says(const char* who, const char* state, const char* gene, const char* basis = "bought") {
    says(who, Value::Object{{"state", state}, {"gene", gene}, {"basis", basis}});
  }
  void maybe(const char* who, const char* gene, int chance, const char* basis = "parents") {
    says(who, Value::Object{{"state", "possible-het"}, {"gene", gene}, {"chance_percent", chance}, {"basis", basis}});
  }
  CardGenes of(const char* who) {
    Reader reader(a.book());
    return CardGeneSource(reader).of(*reader.thing_of(World::animal(who)));
  }
  /// "amel, 50 % het anery"; or "broken: amel".
  std::string text(const char* who) {
    std::string out;
    const auto add_to = [&](const std::string& one) { out += (out.empty() ? "" : ", ") + one; };
    const CardGenes card = of(who);
    for (const BrokenClaim& one : card.broken) add_to("broken: " + one.text);
    for (const CardClaim& one : card.certain) add_to(one.text);
    for (const CardClaim& one : card.possible) add_to(one.text);
    return out;
  }

  std::string species;
  World world;
  Device& a = world.device("a");
};

}  // namespace

TEST_CASE("a card says het of one copy only: two are another thing") {
  OneCard pastels("ball python");
  pastels.says("sire", "visual", "pastel");
  pastels.says("dam", "visual", "pastel");
  pastels.maybe("young", "pastel", 66);
  // Of two pastels a quarter has none, half one copy, a quarter two.
  CHECK(pastels.text("young") == "50 % pastel, one copy");
  OneCard hidden("corn snake");
  for (const char* parent : {"sire", "dam"}) {
    hidden.says(parent, "visual", "amel");
    hidden.says(parent, "het", "hypo");
  }
  hidden.says("young", "visual", "amel", "seen");
  hidden.maybe("young", "hypo", 66);
  CHECK(hidden.text("young") == "amel, 50 % het hypo");
}

TEST_CASE("a compound that its parents cannot give is not printed, and one that they can is") {
  OneCard none("corn snake");
  none.says("sire", "visual", "motley");
  none.says("dam", "homozygous", "motley");
  none.says("sire", "homozygous", "motley");
  none.says("young", "visual", "motley stripe compound");
  CHECK(none.text("young") == "broken: motley stripe compound");
  OneCard real("corn snake");
  real.says("sire", "homozygous", "motley");
  real.says("dam", "visual", "stripe");
  real.says("young", "visual", "motley stripe compound");
  CHECK(real.text("young") == "motley stripe compound");
  real.says("young", "visual", "motley", "seen");
  CHECK(real.text("young") == "motley stripe compound, motley");
}

TEST_CASE("one gene is one line, whatever it was called and however often") {
  OneCard card("corn snake");
  card.maybe("sire", "amel", 66, "bought");
  card.maybe("sire", "amelanistic", 50, "bought");
  CHECK(card.text("sire") == "50 % het amel");
  card.says("sire", "het", "amelanistic");
  CHECK(card.text("sire") == "het amel");
  card.says(
      "dam",
      Value::Object{{"state", "visual"}, {"gene", "amel"}, {"or", Value::Array{"anery"}}, {"certainty", "think-so"}});
  card.says("dam", "visual", "amelanistic");
  CHECK(card.text("dam") == "amelanistic");
}

TEST_CASE("whose parents have no answer gets no figure, nor do its young") {
  OneCard card("corn snake");
  card.says("sire", "visual", "amel");
  card.says("dam", "visual", "amel");
  card.says("young", Value::Object{{"state", "normal"}, {"basis", "seen"}});
  card.add("sister");
  card.parents("sister", "sire", "dam");
  card.add("stranger");
  card.parents("grandchild", "stranger", "sister");
  CHECK(card.text("sister").empty());
  CHECK(card.text("grandchild").empty());
  card.maybe("grandchild", "amel", 50);
  CHECK(card.text("grandchild") == "broken: 50 % het amel");
  // What it shows itself stands, whoever its parents were.
  card.says("sister", "visual", "amel", "seen");
  card.says("sister", "het", "anery");
  CHECK(card.text("sister") == "amel, het anery");
}

TEST_CASE("what is thought to be several looks together is doubted look by look, and who cannot tell claims nothing") {
  OneCard card("corn snake");
  card.says("sire", Value::Object{{"state", "visual"}, {"gene", "amel and anery together"}, {"certainty", "think-so"}});
  CHECK(card.text("sire") == "81 % amel and anery together");
  card.says("dam", Value::Object{{"state", "visual"}, {"gene", "amel"}, {"certainty", "cannot-tell"}});
  CHECK(card.text("dam").empty());
}

TEST_CASE(
    "`not` answers claims of copies under any name of the gene, and neither what is seen nor what nobody could tell") {
  OneCard card("corn snake");
  card.says("sire", "het", "amel");
  card.says("sire", "not", "amelanistic", "proven");
  CHECK(card.text("sire").empty());
  card.says("dam", "visual", "amel", "seen");
  card.says("dam", "not", "amel");
  CHECK(card.text("dam") == "broken: amel");
  card.says("grandchild", "het", "amel");
  card.says("grandchild", Value::Object{{"state", "not"}, {"gene", "amel"}, {"certainty", "cannot-tell"}});
  CHECK(card.text("grandchild") == "het amel");
}
