// Histories 4 and 10: the register, codes and registrations.
#include "tests/history/helpers.h"

using namespace rackside::core;
using namespace rackside::tests;

namespace {
const std::string kAnimal = World::animal("one");
}  // namespace

TEST_CASE("history 4: an edit from a form that a live mark made stale stands beside the mark") {
  ThreeHelpers h;
  h.check_clocks();
  const EventRef shown = h.world.record(h.a, Kind::edited, {kAnimal}, {.own = setting("sex", "female")});
  h.world.sync_all();
  h.world.record(h.b, Kind::edited, {kAnimal}, {.re = saw(shown), .own = setting("sex", "male")});
  h.world.sync_all();  // c holds the newer value, but his open form showed the older one
  h.world.record(h.c, Kind::edited, {kAnimal}, {.re = saw(shown), .own = setting("sex", "female")});
  const auto book = h.merged();
  const Seen seen = only(*book, RuleId::field, kAnimal);
  CHECK(seen.asks);
  CHECK(seen.members.size() == 2);
}

TEST_CASE("history 4: who saw the value of a phone two days ahead overrules it") {
  ThreeHelpers h;
  h.check_clocks();
  h.a.clock_error_ms = 2 * kDay;
  const EventRef ahead = h.world.record(h.a, Kind::edited, {kAnimal}, {.own = setting("prey", "rat")});
  h.world.record(h.b, Kind::edited, {kAnimal}, {.re = saw(ahead), .own = setting("prey", "mouse")});
  CHECK(field(*h.merged(), kAnimal, "prey") == "\"mouse\"");
}

TEST_CASE("history 4: an unchecked clock a day ahead wins against nobody who did not see it") {
  ThreeHelpers h;
  h.check_clocks();
  h.a.clock_error_ms = kDay + kHour;  // since the last check: a new stretch, so unsure
  h.world.record(h.a, Kind::edited, {kAnimal}, {.own = setting("prey", "rat")});
  h.world.record(h.b, Kind::edited, {kAnimal}, {.own = setting("prey", "mouse")});
  const auto book = h.merged();
  CHECK(field(*book, kAnimal, "prey") == "\"mouse\"");
  CHECK(matters(*book, RuleId::field, kAnimal).empty());
}

TEST_CASE("history 4: a chain of edits leaves one candidate, through edits in between") {
  ThreeHelpers h;
  const EventRef one = h.world.record(h.a, Kind::edited, {kAnimal}, {.own = setting("sex", "female")});
  const EventRef two = h.world.record(h.b, Kind::edited, {kAnimal}, {.re = saw(one), .own = setting("sex", "male")});
  h.world.record(h.c, Kind::edited, {kAnimal}, {.re = saw(two), .own = setting("sex", "female")});
  const auto book = h.merged();
  CHECK(field(*book, kAnimal, "sex") == "\"female\"");
  CHECK(matters(*book, RuleId::field, kAnimal).empty());
}

TEST_CASE("history 10: one code registered for two things is a question") {
  ThreeHelpers h;
  const EventRef one = h.world.record(h.a, Kind::animal, {kAnimal}, {.own = setting("name", "C-14")});
  const EventRef two = h.world.record(h.b, Kind::animal, {kAnimal}, {.own = setting("name", "D-2")});
  const Seen seen = only(*h.merged(), RuleId::field, kAnimal);
  CHECK(seen.asks);
  CHECK(std::set<EventRef>(seen.members.begin(), seen.members.end()) == std::set<EventRef>{one, two});
}

TEST_CASE("history 10: what was scanned before its registration arrives is kept and belongs to it") {
  ThreeHelpers h;
  h.world.pass(kMinute);
  const EventRef fed = h.world.record(h.b, Kind::fed, {kAnimal});
  const Instant since = h.world.now;
  h.world.record(h.a, Kind::animal, {kAnimal}, {.own = setting("name", "C-14")});
  h.world.record(h.c, Kind::refused, {kAnimal});
  const auto book = h.world.check_every_order(h.all, since);
  CHECK(subjects(*book, fed) == std::set<std::string>{kAnimal});
  CHECK(field(*book, kAnimal, "name") == "\"C-14\"");
}

TEST_CASE("history 10: a replaced card speaks of the same animal, before and after it is joined") {
  ThreeHelpers h;
  const std::string card = World::animal("new card");
  h.world.record(h.a, Kind::fed, {kAnimal});
  const EventRef early = h.world.record(h.b, Kind::refused, {card});
  h.world.record(h.a, Kind::coded, {kAnimal}, {.own = Value::Object{{"code", card}}});
  CHECK(subjects(*h.merged(), early) == std::set<std::string>{card});  // a helper's word joins no codes
  h.world.record(h.world.hub(), Kind::coded, {kAnimal}, {.own = Value::Object{{"code", card}}});
  const auto book = h.merged();
  CHECK(subjects(*book, early) == std::set<std::string>{kAnimal});
  CHECK(only(*book, RuleId::feeding, kAnimal).outcome == "check-tub");
}

TEST_CASE("history 10: a code that leads into a ring of joined codes stands for the ring's smallest, not for itself") {
  ThreeHelpers h;
  std::vector<std::string> codes;
  for (const char* name : {"one", "two", "three"}) codes.push_back(World::animal(name));
  std::sort(codes.begin(), codes.end());
  const auto join = [&](const std::string& code, const std::string& to) {
    h.world.record(h.world.hub(), Kind::coded, {to}, {.own = Value::Object{{"code", code}}});
  };
  join(codes[0], codes[1]);  // the smallest of all leads in
  join(codes[1], codes[2]);
  join(codes[2], codes[1]);
  const EventRef fed = h.world.record(h.a, Kind::fed, {codes[0]});
  CHECK(subjects(*h.merged(), fed) == std::set<std::string>{codes[1]});
}

TEST_CASE("history 10: a place whose label was replaced is the same place for moves and scans") {
  ThreeHelpers h;
  h.check_clocks();
  const std::string old_label = World::place("old"), new_label = World::place("new");
  h.world.record(h.a, Kind::moved, {kAnimal}, {.place = old_label});
  h.world.pass(kHour);
  const EventRef fed = h.world.record(h.b, Kind::fed, {}, {.place = new_label});
  CHECK(subjects(*h.merged(), fed).empty());
  h.world.record(h.world.hub(), Kind::coded, {new_label}, {.own = Value::Object{{"code", old_label}}});
  CHECK(subjects(*h.merged(), fed) == std::set<std::string>{kAnimal});
}

namespace {

Value young(const std::string& mark, const std::string& hatched) {
  return Value::Object{{"young", mark}, {"set", Value::Object{{"short", "26-C-3-1"}, {"hatched", hatched}}}};
}

}  // namespace

TEST_CASE("history 10: two helpers register the same hatchling without a network: one animal, and no question") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::animal, {kAnimal}, {.own = young("laying/1", "2026-09-30")});
  h.world.record(h.b, Kind::animal, {kAnimal}, {.own = young("laying/1", "2026-09-30")});
  const auto book = h.merged();
  CHECK(open_questions(*book) == 0);
  CHECK(field(*book, kAnimal, "registered") == "\"animal\"");
}

TEST_CASE("history 10: the same hatchling with two days of hatching asks for the day, not for the animal") {
  ThreeHelpers h;
  h.check_clocks();
  h.world.record(h.a, Kind::animal, {kAnimal}, {.own = young("laying/1", "2026-09-30")});
  h.world.record(h.b, Kind::animal, {kAnimal}, {.own = young("laying/1", "2026-09-29")});
  const auto book = h.merged();
  const Seen seen = only(*book, RuleId::field, kAnimal);
  CHECK(seen.asks);
  CHECK(seen.detail.text("field") == "hatched");
}

TEST_CASE("history 10: marks that differ, or a registration without one, are two things under one code") {
  for (const char* other : {"laying/2", ""}) {
    ThreeHelpers h;
    h.check_clocks();
    h.world.record(h.a, Kind::animal, {kAnimal}, {.own = young("laying/1", "2026-09-30")});
    h.world.record(h.b, Kind::animal, {kAnimal}, {.own = young(other, "2026-09-30")});
    CHECK(open_questions(*h.merged()) == 1);
  }
}
