// What cannot be, and is asked about: life after a departure, eggs of a male, pairs of one sex, rings of ancestors,
// entries of a retired device.
#include "tests/history/helpers.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {
const std::string kAnimal = World::animal("one");
const std::string kOther = World::animal("two");
const std::string kThird = World::animal("three");

Value parent(const std::string& role, const std::string& of) {
  return Value::Object{{"basis", "seller"}, {"parent", role}, {"animal", of}};
}
}  // namespace

TEST_CASE("doubts: a meal an hour after it died is asked about, one that may have been before is not") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.pass(kMinute);
  const Instant since = h.world.now;
  const EventRef death = h.world.record(h.a, Kind::died, {kAnimal});
  h.world.pass(10 * kMinute);
  h.world.record(h.b, Kind::fed, {kAnimal});
  CHECK(matters(*h.merged(), RuleId::gone, kAnimal).empty());
  h.world.pass(50 * kMinute);
  const EventRef meal = h.world.record(h.c, Kind::refused, {kAnimal});
  h.world.check_every_order(h.all, since);
  const Seen seen = only(*h.merged(), RuleId::gone, kAnimal);
  CHECK(seen.asks);
  CHECK(std::set<EventRef>(seen.members.begin(), seen.members.end()) == std::set<EventRef>{death, meal});
}

TEST_CASE("doubts: who says that a meal came after the death is believed, whatever the clocks say") {
  ThreeHelpers h;
  const EventRef death = h.world.record(h.a, Kind::died, {kAnimal});
  h.world.record(h.b, Kind::fed, {kAnimal}, {.re = saw(death)});
  CHECK(only(*h.merged(), RuleId::gone, kAnimal).members.size() == 2);
}

TEST_CASE("doubts: withdrawing the death, or the meal, or an answer ends the question") {
  ThreeHelpers h;
  h.check_clocks();
  const EventRef death = h.world.record(h.a, Kind::died, {kAnimal});
  h.world.pass(kHour);
  const EventRef meal = h.world.record(h.b, Kind::fed, {kAnimal});
  h.world.voids(h.a, death);
  CHECK(matters(*h.merged(), RuleId::gone, kAnimal).empty());
  const EventRef again = h.world.record(h.a, Kind::died, {kAnimal}, {.said = SaidTime{.minutes_ago = 90}});
  REQUIRE(only(*h.merged(), RuleId::gone, kAnimal).asks);
  h.world.settles(h.a, "gone", {again, meal}, "stands");
  CHECK_FALSE(only(*h.merged(), RuleId::gone, kAnimal).asks);
  h.world.voids(h.b, meal);
  CHECK(matters(*h.merged(), RuleId::gone, kAnimal).empty());
}

TEST_CASE("doubts: an animal that left and was put back may eat; a dead one that is put back is asked about") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::left, {kAnimal});
  h.world.record(h.a, Kind::died, {kOther});
  h.world.pass(kHour);
  h.world.record(h.b, Kind::moved, {kAnimal}, {.place = World::place("B-07")});
  h.world.record(h.b, Kind::moved, {kOther}, {.place = World::place("B-08")});
  h.world.pass(kHour);
  h.world.record(h.c, Kind::fed, {kAnimal});
  const auto book = h.merged();
  CHECK(matters(*book, RuleId::gone, kAnimal).empty());
  CHECK(only(*book, RuleId::gone, kOther).members.size() == 2);
}

TEST_CASE("doubts: eggs of a male are asked about until his sex is mended") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.pass(kMinute);
  const Instant since = h.world.now;
  const EventRef eggs = h.world.record(h.a, Kind::laid, {kAnimal});
  const EventRef male = h.world.record(h.b, Kind::edited, {kAnimal}, {.own = setting("sex", "male")});
  h.world.check_every_order(h.all, since);
  const Seen seen = only(*h.merged(), RuleId::male_eggs, kAnimal);
  CHECK(seen.asks);
  CHECK(seen.members == std::vector<EventRef>{eggs});
  h.world.record(h.a, Kind::edited, {kAnimal}, {.re = saw(male), .own = setting("sex", "female")});
  CHECK(matters(*h.merged(), RuleId::male_eggs, kAnimal).empty());
}

TEST_CASE("doubts: a pair of one sex is asked about, and so is an animal paired with itself") {
  ThreeHelpers h;
  h.world.record(h.a, Kind::edited, {kAnimal}, {.own = setting("sex", "male")});
  h.world.record(h.b, Kind::paired, {kAnimal, kOther}, {.place = World::place("B-07")});
  CHECK(matters(*h.merged(), RuleId::one_sex_pair, kAnimal).empty());
  const EventRef male = h.world.record(h.c, Kind::edited, {kOther}, {.own = setting("sex", "male")});
  CHECK(only(*h.merged(), RuleId::one_sex_pair, kAnimal).asks);
  h.world.record(h.c, Kind::edited, {kOther}, {.re = saw(male), .own = setting("sex", "female")});
  CHECK(matters(*h.merged(), RuleId::one_sex_pair, kAnimal).empty());
  h.world.record(h.c, Kind::paired, {kThird, kThird}, {.place = World::place("B-08")});
  CHECK(only(*h.merged(), RuleId::one_sex_pair, kThird).asks);
}

TEST_CASE("doubts: a ring of parents is one question; naming the wrong statement settles it") {
  ThreeHelpers h;
  h.world.pass(kMinute);
  const Instant since = h.world.now;
  const EventRef one = h.world.record(h.a, Kind::says, {kAnimal}, {.own = parent("sire", kOther)});
  const EventRef two = h.world.record(h.b, Kind::says, {kOther}, {.own = parent("dam", kThird)});
  CHECK(open_questions(*h.merged()) == 0);
  const EventRef three = h.world.record(h.c, Kind::says, {kThird}, {.own = parent("sire", kAnimal)});
  h.world.record(h.c, Kind::says, {kThird}, {.own = parent("possible-sire", kThird)});
  h.world.check_every_order(h.all, since);
  const auto book = h.merged();
  CHECK(open_questions(*book) == 1);
  std::vector<Seen> rings;
  std::string subject;
  for (const std::string& animal : {kAnimal, kOther, kThird}) {
    for (const Seen& seen : matters(*book, RuleId::ancestry, animal)) rings.push_back(seen), subject = animal;
  }
  REQUIRE(rings.size() == 1);
  CHECK(rings[0].members.size() == 3);
  CHECK(rings[0].answers.size() == 3);
  h.world.settles(h.a, "ancestry", {one, two, three}, to_text(three));
  const Seen settled = only(*h.merged(), RuleId::ancestry, subject);
  CHECK_FALSE(settled.asks);
  CHECK(settled.outcome == to_text(three));
}

TEST_CASE("doubts: of two rings that hang together one stays when the other's statement is withdrawn") {
  ThreeHelpers h;
  h.world.pass(kMinute);
  const Instant since = h.world.now;
  const EventRef wrong = h.world.record(h.a, Kind::says, {kAnimal}, {.own = parent("sire", kOther)});
  h.world.record(h.b, Kind::says, {kOther}, {.own = parent("sire", kAnimal)});
  h.world.record(h.b, Kind::says, {kOther}, {.own = parent("dam", kThird)});
  h.world.record(h.c, Kind::says, {kThird}, {.own = parent("sire", kOther)});
  CHECK(open_questions(*h.merged()) == 1);
  h.world.voids(h.a, wrong);
  const auto book = h.world.check_every_order(h.all, since);
  std::vector<Seen> rings;
  for (const std::string& animal : {kAnimal, kOther, kThird}) {
    for (const Seen& seen : matters(*book, RuleId::ancestry, animal)) rings.push_back(seen);
  }
  REQUIRE(rings.size() == 1);
  CHECK(rings[0].members.size() == 2);
}

TEST_CASE("doubts: a ring found through a joined code is asked about as well") {
  ThreeHelpers h;
  const std::string card = World::animal("new card");
  h.world.record(h.a, Kind::says, {kAnimal}, {.own = parent("sire", kOther)});
  h.world.record(h.b, Kind::says, {kOther}, {.own = parent("sire", card)});
  CHECK(open_questions(*h.merged()) == 0);
  h.world.record(h.world.hub(), Kind::coded, {kAnimal}, {.own = Value::Object{{"code", card}}});
  CHECK(open_questions(*h.merged()) == 1);
}

TEST_CASE("doubts: what a device wrote after it was retired is one question; its clock marks alone are none") {
  ThreeHelpers h;
  const EventRef last = h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.sync_all();
  const Value whom = Value::Object{{"device", to_hex(h.a.book().device())}};
  h.world.record(h.world.hub(), Kind::retired, {}, {.re = saw(last), .own = whom});
  h.world.pass(2 * kDay);
  h.world.sync_all();
  CHECK(open_questions(*h.merged()) == 0);
  h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.record(h.a, Kind::shed, {kOther});
  h.world.sync_all();
  const auto book = h.merged();
  const Seen seen = only(*book, RuleId::unread, "");
  CHECK(seen.asks);
  CHECK(seen.amount == 2);
  CHECK(seen.members.size() == 1);
  CHECK(matters(*book, RuleId::feeding, kAnimal).empty());
  h.world.settles(h.b, "unread", seen.members, "left-out");
  CHECK_FALSE(only(*h.merged(), RuleId::unread, "").asks);
}

TEST_CASE("doubts: a leftover of two offers after a death is one of the entries that contradict it") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::died, {kAnimal});
  h.world.pass(kHour);
  const EventRef one = h.world.record(h.b, Kind::offered, {kAnimal});
  h.world.pass(kHour);
  const EventRef two = h.world.record(h.b, Kind::offered, {kAnimal});
  h.world.record(h.b, Kind::leftover, {kAnimal}, {.re = {{one, Relation::saw}, {two, Relation::saw}}});
  CHECK(only(*h.merged(), RuleId::gone, kAnimal).members.size() == 4);
}

TEST_CASE("doubts: of a retired device that was forked the first entry is asked about, whichever line came first") {
  ThreeHelpers h;
  h.check_clocks();
  const EventRef last = h.world.record(h.a, Kind::fed, {kAnimal});
  h.world.sync_all();
  h.world.record(h.world.hub(), Kind::retired, {},
                 {.re = saw(last), .own = Value::Object{{"device", to_hex(h.a.book().device())}}});
  const EventRef first = h.world.record(h.a, Kind::fed, {kOther});
  Copy backup(h.a, "retired");
  h.world.record(h.a, Kind::fed, {kThird});
  h.world.record(backup.device(), Kind::refused, {kThird});
  for (Device* device : {&h.a, &backup.device()}) {
    device->book().prepare_sync(device->clock(h.world.now));
    h.world.carry(device->book(), h.world.hub().book());
  }
  const Seen seen = only(*h.merged(), RuleId::unread, "");
  CHECK(seen.members == std::vector<EventRef>{first});
  CHECK(seen.amount == 3);
}

TEST_CASE("doubts: a ring of ancestors that takes in a smaller one leaves one question, in whatever order they came") {
  ThreeHelpers h;
  h.world.record(h.a, Kind::says, {kAnimal}, {.own = parent("sire", kAnimal)});
  h.world.record(h.a, Kind::says, {kAnimal}, {.own = parent("dam", kOther)});
  h.world.record(h.b, Kind::says, {kOther}, {.own = parent("dam", kAnimal)});
  CHECK(open_questions(*h.merged()) == 1);
}
