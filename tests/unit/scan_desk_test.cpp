#include "cli/scan/desk.h"
#include "tests/support/catch.h"
#include "tests/support/program.h"
#include "tests/support/world.h"

using namespace rackside;
using namespace rackside::core;
using rackside::tests::contains;
using rackside::tests::Folder;
using rackside::tests::World;
using What = cli::LineOutcome::What;

namespace {

/// A book in a file, with C-01 at A-01, and somebody who answers.
struct Cart {
  Folder folder;
  cli::Session session;
  std::string female = World::animal("C-01"), male = World::animal("C-02"), tub = World::place("A-01");

  Cart() {
    session.book_path = folder / "cart.book";
    Book::create(session.book_path,
                 {.keeper = "",
                  .root = World::key("root"),
                  .device = World::key("cart"),
                  .keeper_code = World::code(CodeKind::helper, "keeper")},
                 session.clock());
    const auto registered = [&](Kind kind, const std::string& code, const char* label, const char* sex) {
      Value set = Value::Object{{"short", label}};
      if (*sex) set.set("sex", sex);
      return Draft{.kind = kind, .of = {code}, .own = Value::Object{{"set", set}}};
    };
    session.record(
        {registered(Kind::place, tub, "A-01", ""),
         registered(Kind::animal, female, "C-01", "female"),
         registered(Kind::animal, male, "C-02", "male"),
         {.kind = Kind::shortcut, .of = {sheet}, .own = Value::Object{{"set", Value::Object{{"entry", "fed mouse"}}}}},
         {.kind = Kind::moved, .of = {female}, .place = tub}});
  }
  std::string sheet = World::code(CodeKind::shortcut, "fed mouse").str();

  cli::Desk desk() { return {session, {.asking = cli::Desk::Asking::yes}}; }
  std::size_t accounts(const std::string& code, Kind kind) {
    Reader reader = session.reader();
    std::size_t count = 0;
    for (const StoryLine& line : reader.story(*reader.thing_of(code), 100))
      count += line.kind == kind && !line.gone ? 1 : 0;
    return count;
  }
};

}  // namespace

TEST_CASE("a second meal is asked about; a number, a word or “-” answers") {
  const struct {
    const char* answer;
    std::size_t meals;
  } rows[] = {{"1", 2}, {"same", 2}, {"replaces", 1}, {"-", 1}};
  for (const auto& row : rows) {
    CAPTURE(row.answer);
    Cart cart;
    cli::Desk desk = cart.desk();
    desk.take(cart.female);
    CHECK(desk.take(cart.sheet).at(0).what == What::recorded);
    const auto asked = desk.take("fed pinky");
    REQUIRE(asked.at(0).what == What::asked);
    CHECK(cart.accounts(cart.female, Kind::fed) == 1);
    CHECK(desk.take(row.answer).size() == 1);
    CHECK(cart.accounts(cart.female, Kind::fed) == row.meals);
    CHECK(desk.finish().empty());
  }
}

TEST_CASE("a question passed over is saved as seen, and the next line means what it says") {
  Cart cart;
  cli::Desk desk = cart.desk();
  desk.take("fed mouse");
  desk.take(cart.female);
  desk.take("fed pinky");
  CHECK(desk.take(cart.female).at(0).what == What::asked);
  // The label read twice is no answer.
  CHECK(desk.take(cart.female).at(0).what == What::asked);
  const auto both = desk.take(cart.male);
  REQUIRE(both.size() == 2);
  CHECK(both[0].what == What::recorded);
  CHECK(contains(both[0].message, "C-01 ate pinky"));
  CHECK(contains(both[1].message, "C-02 ate pinky"));
  CHECK(desk.in_round() == 2);
  CHECK(desk.recorded() == 3);
}

TEST_CASE("at the end, what was asked and not answered is saved") {
  Cart cart;
  cli::Desk desk = cart.desk();
  desk.take("C-01 fed mouse");
  desk.take("C-01 fed pinky");
  CHECK(desk.finish().at(0).what == What::recorded);
  CHECK(cart.accounts(cart.female, Kind::fed) == 2);
}

TEST_CASE("two at one tub: the card of one of them answers which") {
  Cart cart;
  cli::Desk desk = cart.desk();
  desk.take("C-02 paired C-01");
  desk.take(cart.tub);
  REQUIRE(desk.take("refused").at(0).what == What::asked);
  CHECK(contains(desk.take(cart.male).at(0).message, "C-02 refused"));
  CHECK(cart.accounts(cart.male, Kind::refused) == 1);
  CHECK(cart.accounts(cart.female, Kind::refused) == 0);
}

TEST_CASE("after an undo the same scan counts again") {
  Cart cart;
  cli::Desk desk = cart.desk();
  desk.take("fed mouse");
  desk.take(cart.female);
  CHECK(desk.take(cart.female).at(0).what == What::doubled);
  CHECK(desk.take("undo").at(0).what == What::undone);
  CHECK(desk.in_round() == 0);
  CHECK(desk.take(cart.female).at(0).what == What::recorded);
  CHECK(cart.accounts(cart.female, Kind::fed) == 1);
}
