#include <algorithm>

#include "core/entry/compose.h"
#include "core/entry/corrections.h"
#include "tests/support/catch.h"
#include "tests/support/world.h"

using namespace rackside::core;
namespace core = rackside::core;
using namespace rackside::tests;

namespace {

/// A room with one device that writes and reads: C-01 (female) at A-01, C-02 (male) at A-02, nobody at A-03.
struct Room {
  World world;
  Device& hub = world.hub();

  Room() {
    registered(Kind::rack, code(CodeKind::rack, "A"), Value::Object{{"short", "A"}});
    for (const char* place : {"A-01", "A-02", "A-03"}) {
      registered(Kind::place, World::place(place),
                 Value::Object{{"short", place}, {"rack", code(CodeKind::rack, "A")}});
    }
    registered(Kind::animal, World::animal("C-01"), Value::Object{{"short", "C-01"}, {"sex", "female"}});
    registered(Kind::animal, World::animal("C-02"), Value::Object{{"short", "C-02"}, {"sex", "male"}});
    first = world.record(hub, Kind::moved, {World::animal("C-01")}, {.place = World::place("A-01")});
    second = world.record(hub, Kind::moved, {World::animal("C-02")}, {.place = World::place("A-02")});
    world.pass(2 * kDay);
  }
  static std::string code(CodeKind kind, const std::string& name) { return World::code(kind, name).str(); }
  void registered(Kind kind, const std::string& what, Value set) {
    world.record(hub, kind, {what}, {.own = Value::Object{{"set", std::move(set)}}});
  }
  Scene scene(const std::string& what) {
    Reader reader(hub.book());
    return look(reader, reader.named(*reader.thing_of(what)), what, world.now);
  }
  Composition composed(const std::string& what, const std::string& typed, const Choices& choices = {}) {
    const core::Entry entry = *parse_entry(typed).entry;
    std::optional<Scene> target;
    if (!entry.target.empty()) target = scene(entry.target);
    return compose(scene(what), entry, choices, target ? &*target : nullptr);
  }
  EventRef recorded(const std::string& what, const std::string& typed, const Choices& choices = {}) {
    return hub.book().record_one(composed(what, typed, choices).draft, hub.clock(world.now));
  }

  EventRef first, second;
  const std::string female = World::animal("C-01"), male = World::animal("C-02");
  const std::string a1 = World::place("A-01"), a2 = World::place("A-02"), a3 = World::place("A-03");
};

bool names(const Draft& draft, const EventRef& ref, Relation relation) {
  return std::find(draft.re.begin(), draft.re.end(), Answer{ref, relation}) != draft.re.end();
}

bool warns(const Composition& made, const std::string& part) {
  return std::any_of(made.warnings.begin(), made.warnings.end(),
                     [&](const auto& text) { return contains(text, part); });
}

}  // namespace

TEST_CASE("an animal's card names the animal, a place what the screen showed there") {
  Room room;
  const Composition card = room.composed(room.female, "fed small-rat");
  CHECK(card.draft.of == std::vector<std::string>{room.female});
  CHECK(card.draft.place.empty());
  const Composition place = room.composed(room.a1, "fed small-rat");
  CHECK(place.draft.of.empty());
  CHECK(place.draft.place == room.a1);
  CHECK(place.draft.shown == std::vector<std::string>{room.female});
  CHECK(place.draft.re.empty());
  CHECK(place.ask.about == Ask::About::nothing);
}

TEST_CASE("a place scan names a move younger than a day, so that the binding knows that it was seen") {
  Room room;
  const EventRef move = room.recorded(room.female, "moved " + room.a3);
  room.world.pass(kHour);
  CHECK(names(room.composed(room.a3, "weighed 400").draft, move, Relation::saw));
  CHECK(names(room.composed(room.a1, "cleaned").draft, move, Relation::saw));
  const EventRef weight = room.recorded(room.a3, "weighed 400");
  CHECK(subjects(room.hub.book(), weight) == std::set<std::string>{room.female});
  room.world.pass(2 * kDay);
  CHECK(room.composed(room.a3, "weighed 400").draft.re.empty());
}

TEST_CASE("a second meal in one night asks again, same or replaces, and the choice reaches the rule") {
  const struct {
    Relation relation;
    std::int64_t servings;
  } rows[] = {{Relation::again, 2}, {Relation::same, 1}, {Relation::replaces, 1}};
  for (const auto& row : rows) {
    CAPTURE(word_of(row.relation));
    Room room;
    const EventRef meal = room.recorded(room.female, "fed small-rat");
    room.world.pass(kHour);
    const Composition asked = room.composed(room.female, "fed mouse");
    REQUIRE(asked.ask.about == Ask::About::relation);
    CHECK_FALSE(asked.ask.needed);
    CHECK(names(asked.draft, meal, Relation::saw));
    CHECK(asked.ask.options.size() == 3);
    room.recorded(room.female, "fed mouse", {.relation = row.relation});
    Reader reader(room.hub.book());
    const auto nights = reader.nights(*reader.thing_of(room.female), 1);
    REQUIRE(nights.size() == 1);
    CHECK(nights[0].outcome == "ate");
    CHECK(nights[0].amount == row.servings);
    CHECK_FALSE(nights[0].asks);
  }
}

TEST_CASE("a trailing word gives the relation where nobody can be asked") {
  Room room;
  const EventRef meal = room.recorded(room.a1, "fed small-rat");
  const Composition again = room.composed(room.a1, "fed small-rat again");
  CHECK(again.ask.about == Ask::About::nothing);
  CHECK(names(again.draft, meal, Relation::again));
  CHECK(names(room.composed(room.a1, "refused replaces").draft, meal, Relation::replaces));
}

TEST_CASE("the next night is another matter") {
  Room room;
  room.recorded(room.female, "fed small-rat");
  room.world.pass(kDay);
  const Composition next = room.composed(room.female, "fed small-rat");
  CHECK(next.ask.about == Ask::About::nothing);
  CHECK(next.draft.re.empty());
}

TEST_CASE("a leftover in the morning answers its offer, and so does a refusal") {
  Room room;
  const EventRef offer = room.recorded(room.a1, "offered mouse");
  room.world.pass(12 * kHour);
  CHECK(names(room.composed(room.a1, "leftover").draft, offer, Relation::saw));
  CHECK(names(room.composed(room.female, "refused").draft, offer, Relation::saw));
  room.recorded(room.a1, "leftover");
  Reader reader(room.hub.book());
  CHECK(reader.nights(*reader.thing_of(room.female), 1).at(0).outcome == "refused");
}

TEST_CASE("eggs within 48 hours are asked about, later ones are a reason for a veterinarian") {
  Room room;
  room.recorded(room.female, "laid 7+1");
  room.world.pass(47 * kHour);
  CHECK(room.composed(room.female, "laid 2").ask.about == Ask::About::relation);
  room.world.pass(2 * kHour);
  const Composition late = room.composed(room.female, "laid 2");
  CHECK(late.ask.about == Ask::About::nothing);
  CHECK(warns(late, "veterinarian"));
}

TEST_CASE("the male visits the female, whoever was scanned") {
  for (const bool male_scanned : {true, false}) {
    Room room;
    const Composition made = male_scanned ? room.composed(room.a2, "paired " + room.female)
                                          : room.composed(room.female, "paired " + room.male);
    CHECK(made.draft.of == std::vector<std::string>{room.male, room.female});
    CHECK(made.draft.place == room.a1);
    CHECK(names(made.draft, room.first, Relation::saw));
    CHECK(names(made.draft, room.second, Relation::saw));
    CHECK(made.warnings.empty());
  }
}

TEST_CASE("with two at a place, food is asked about and warned of, a tub is not, and a death must be answered") {
  Room room;
  const EventRef pairing = room.recorded(room.female, "paired " + room.male);
  room.world.pass(kHour);
  const Composition meal = room.composed(room.a1, "fed mouse");
  CHECK(meal.ask.about == Ask::About::animal);
  CHECK_FALSE(meal.ask.needed);
  CHECK(meal.draft.of.empty());
  CHECK(meal.draft.shown.size() == 2);
  CHECK(warns(meal, "snakes eat snakes"));
  const Composition picked = room.composed(room.a1, "fed mouse", {.animal = room.male});
  CHECK(picked.draft.of == std::vector<std::string>{room.male});
  CHECK(room.composed(room.a1, "cleaned").ask.about == Ask::About::nothing);
  CHECK(room.composed(room.a1, "died").ask.needed);
  CHECK(room.composed(room.a1, "locked").draft.of.size() == 2);
  CHECK(room.composed(room.female, "locked").draft.of == std::vector<std::string>{room.female, room.male});
  // The visitor is separated: from her tub, her card, his card and his empty tub.
  for (const std::string& scanned : {room.a1, room.female, room.male, room.a2}) {
    CAPTURE(scanned);
    const Composition apart = room.composed(scanned, "separated");
    CHECK(apart.draft.of == std::vector<std::string>{room.male});
    CHECK(names(apart.draft, pairing, Relation::saw));
    CHECK(apart.ask.about == Ask::About::nothing);
  }
}

TEST_CASE("what a helper sees is saved and warned of, never refused") {
  Room room;
  CHECK(warns(room.composed(room.male, "laid 7"), "recorded as male"));
  CHECK(warns(room.composed(room.a3, "fed mouse"), "nobody is at"));
  room.recorded(room.male, "died");
  room.world.pass(kHour);
  CHECK(warns(room.composed(room.male, "fed mouse"), "dead"));
  room.recorded(room.female, "weighed 400");
  CHECK(warns(room.composed(room.female, "weighed 40"), "400 g"));
  CHECK(room.composed(room.female, "weighed 410").warnings.empty());
  room.recorded(room.female, "treated ivermectin");
  CHECK(warns(room.composed(room.female, "treated ivermectin"), "both doses"));
  Reader reader(room.hub.book());
  const Scene unknown = look_unknown(reader, World::code(CodeKind::animal, "stranger"), room.world.now);
  const Composition made = compose(unknown, *parse_entry("fed mouse").entry);
  CHECK(made.draft.of == std::vector<std::string>{World::animal("stranger")});
  CHECK(warns(made, "does not know"));
}

TEST_CASE("a move without an animal or to what is no place cannot be understood") {
  Room room;
  CHECK_THROWS_AS(room.composed(room.a3, "moved " + room.a1), Error);
  CHECK_THROWS_AS(room.composed(room.female, "moved " + room.male), Error);
  CHECK_THROWS_AS(room.composed(room.female, "paired " + room.a3), Error);
}

TEST_CASE("the rest of a rack ate: one event that names every open offer") {
  Room room;
  const EventRef one = room.recorded(room.a1, "offered mouse");
  const EventRef two = room.recorded(room.male, "offered mouse");
  room.world.pass(12 * kHour);
  room.recorded(room.male, "leftover");
  Reader reader(room.hub.book());
  const RestAte rest =
      rest_ate(reader, reader.named(*reader.thing_of(Room::code(CodeKind::rack, "A"))), room.world.now);
  REQUIRE(rest.draft);
  CHECK(rest.animals.size() == 1);
  CHECK(names(*rest.draft, one, Relation::saw));
  CHECK_FALSE(names(*rest.draft, two, Relation::saw));
  room.hub.book().record_one(*rest.draft, room.hub.clock(room.world.now));
  Reader after(room.hub.book());
  CHECK(after.nights(*after.thing_of(room.female), 1).at(0).outcome == "ate");
  CHECK(after.nights(*after.thing_of(room.male), 1).at(0).outcome == "refused");
}

TEST_CASE("undo takes this device's entries back, newest first, and never the register") {
  Room room;
  const EventRef meal = room.recorded(room.female, "fed mouse");
  room.world.pass(kMinute);
  const EventRef shed = room.recorded(room.female, "shed");
  for (const EventRef& expected : {shed, meal}) {
    Reader reader(room.hub.book());
    const auto newest = newest_own_entry(reader, room.world.now);
    REQUIRE(newest);
    CHECK(newest->ref == expected);
    room.hub.book().record_one(withdrawal_of(*newest), room.hub.clock(room.world.now));
    CHECK(is_void(room.hub.book(), expected));
  }
  Reader reader(room.hub.book());
  // The moves of two days ago are out of reach.
  CHECK_FALSE(newest_own_entry(reader, room.world.now));
  const StoryLine line = reader.line(meal);
  CHECK_THROWS_AS(withdrawal_of(line), Error);
  room.hub.book().record_one(restoration_of(reader, line), room.hub.clock(room.world.now));
  CHECK_FALSE(is_void(room.hub.book(), meal));
  Reader after(room.hub.book());
  CHECK_THROWS_AS(restoration_of(after, after.line(meal)), Error);
  const auto found = events_beginning(after, to_hex(meal.hash).substr(0, 8));
  REQUIRE(found.size() == 1);
  CHECK(found[0] == meal);
}
