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
