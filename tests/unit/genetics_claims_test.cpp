// What paper may say: never more than the odds support.
#include "core/genetics/claims.h"

#include "core/genetics/phrases.h"
#include "tests/support/genetics_world.h"

using namespace rackside::core::genetics;
using namespace rackside::tests;

namespace {

const std::string kTwo =
    "locus one\nmemory a test\nallele amel, recessive\n"
    "locus two\nmemory a test\nallele anery, recessive\n";

const Inherited* of_locus(const std::vector<Inherited>& all, std::uint16_t locus) {
  for (const Inherited& one : all) {
    if (one.locus == locus) return &one;
  }
  return nullptr;
}

}  // namespace

TEST_CASE("a claim stands, is weakened or is contradicted by what the odds support") {
  struct Row {
    double promised;
    std::optional<double> supported;
    PaperStanding standing;
  };
  const Row rows[] = {
      {1, 1.0, PaperStanding::stands},
      {1, 0.95, PaperStanding::stands},
      {1, 0.94, PaperStanding::weaker},
      {1, 0.04, PaperStanding::contradicted},
      {1, std::nullopt, PaperStanding::contradicted},
      {2.0 / 3, 2.0 / 3, PaperStanding::stands},
      {2.0 / 3, 0.9, PaperStanding::stands},
      {2.0 / 3, 0.66, PaperStanding::weaker},
      {2.0 / 3, 0.05, PaperStanding::weaker},
      {2.0 / 3, 0.049, PaperStanding::contradicted},
      {0.03, 0.03, PaperStanding::stands},  // little was promised, and that much holds
  };
  for (const Row& row : rows) {
    CAPTURE(row.promised, row.supported.value_or(-1));
    CHECK(standing_of(row.promised, row.supported) == row.standing);
  }
}

TEST_CASE("what follows from the parents: two thirds, a half, certainly het, and nothing of a look nobody described") {
  // Mendel's ratios: of the normal-looking young of two hets two in three carry; of het and normal one in two.
  Tale tale(kTwo);
  const auto he = tale.male();
  const auto she = tale.female();
  tale.het(he, "amel");
  tale.het(she, "amel");
  tale.visual(he, "anery");
  tale.free_of(she, "anery");
  const auto seen = tale.young(he, she);
  const auto unseen = tale.young(he, she);
  tale.looks_normal(seen);
  const auto inference = tale.infer();
  const auto of_seen = inherited(inference, seen);
  REQUIRE(of_seen.size() == 2);
  CHECK(of_locus(of_seen, 0)->phrase == "het amel");
  CHECK(nearly(of_locus(of_seen, 0)->chance, 2.0 / 3));
  CHECK(card_percent(of_locus(of_seen, 0)->chance) == 66);
  CHECK(of_locus(of_seen, 1)->phrase == "het anery");
  CHECK(of_locus(of_seen, 1)->chance == 1);
  // A quarter of the undescribed may be amel: of that locus nothing is said, of the other all is certain.
  const auto of_unseen = inherited(inference, unseen);
  CHECK(of_locus(of_unseen, 0) == nullptr);
  REQUIRE(of_locus(of_unseen, 1) != nullptr);
  CHECK(of_locus(of_unseen, 1)->chance == 1);
}

TEST_CASE("young of two that look so look so, without anybody saying it") {
  Tale tale(kTwo);
  const auto he = tale.male();
  const auto she = tale.female();
  for (const auto parent : {he, she}) tale.visual(parent, "amel");
  const auto all = inherited(tale.infer(), tale.young(he, she));
  REQUIRE(all.size() == 1);
  CHECK(all[0].phrase == "amel");
  CHECK(all[0].allele == 0);
  CHECK(all[0].chance == 1);
}

TEST_CASE("a promise is held against what the animal's young showed") {
  // Bayes: 2/3 het beforehand, n normal young by a mate that shows it: 2/3 / 2^n over that and 1/3.
  for (const unsigned young : {0U, 1U, 3U, 6U}) {
    Tale tale(kTwo);
    const auto he = tale.male();
    const auto she = tale.female();
    tale.possible(he, "amel", 2.0 / 3);
    tale.visual(she, "amel");
    for (unsigned i = 0; i < young; ++i) tale.looks_normal(tale.young(he, she));
    const auto inference = tale.infer();
    const double carrying = 2.0 / 3 / (1U << young);
    const auto support = supported(inference, tale.collection.statements.front());
    REQUIRE(support);
    CHECK(nearly(*support, carrying / (carrying + 1.0 / 3)));
    CHECK(standing_of(2.0 / 3, support) == (young == 0  ? PaperStanding::stands
                                            : young < 6 ? PaperStanding::weaker
                                                        : PaperStanding::contradicted));
  }
}

TEST_CASE("what cannot all be true supports nothing; normal and not are no claims of paper") {
  Tale tale(kTwo);
  const auto he = tale.male();
  const auto she = tale.female();
  tale.het(he, "amel");
  tale.free_of(he, "amel");
  tale.free_of(she, "amel");
  const auto inference = tale.infer();
  CHECK(standing_of(1, supported(inference, tale.collection.statements[0])) == PaperStanding::contradicted);
  CHECK(!supported(inference, tale.collection.statements[2]));
}

TEST_CASE("of a drawn chance paper says no more than what is left after its error, and nothing as certain") {
  // Two hets, their sibs mated through three generations: loops. Tables of one entry are never enough, so all is drawn.
  Tale tale(kTwo);
  auto he = tale.male();
  auto she = tale.female();
  for (const auto parent : {he, she}) tale.possible(parent, "amel", 2.0 / 3);
  for (int generation = 0; generation < 3; ++generation) {
    const auto son = tale.young(he, she, Sex::male);
    const auto daughter = tale.young(he, she, Sex::female);
    for (const auto one : {son, daughter}) tale.looks_normal(one);
    he = son;
    she = daughter;
  }
  Inference inference(tale.species, {.largest_table = 1});
  inference.load(tale.collection);
  REQUIRE(inference.way(he, 0) == Way::sampled);
  REQUIRE(inference.error(he, 0) > 0);
  const double drawn = tale.carries(inference, he, "amel");
  const auto said = Statement{.animal = he, .says = Says::carries, .options = {{.locus = 0, .a = 1, .b = 1}}};
  const auto whole = supported(inference, said);
  const auto sure = surely_supported(inference, said);
  REQUIRE((whole && sure));
  CHECK(nearly(*whole, drawn));
  CHECK(nearly(*sure, drawn - inference.error(he, 0)));
  const auto all = inherited(inference, he);
  REQUIRE(of_locus(all, 0) != nullptr);
  CHECK(nearly(of_locus(all, 0)->chance, drawn - inference.error(he, 0)));
  const auto certain = Statement{.animal = he, .says = Says::looks, .options = {{.locus = 0, .look = 0}}};
  CHECK(surely_supported(inference, certain).value_or(1) <= kMostDrawn);
}
