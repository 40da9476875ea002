// Feeding plans, fasts, signs, the freezer and the paper sheet, as a keeper types them.
#include <fstream>

#include "core/base/error.h"
#include "tests/support/typed_book.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;
using Json = nlohmann::json;

namespace {

struct Room : TypedBook {
  Room() {
    run({"rack", "add", "A", "--places", "6"});
    for (int i = 1; i <= 4; ++i) {
      const std::string number = std::to_string(i);
      run({"animal", "add", "C-" + number, "--species", "corn snake", "--sex", i == 1 ? "male" : "female", "--at",
           "A-0" + number, "--hatched", "2020"});
    }
  }
  /// "food", "off feed, food" …: what today says of one animal.
  std::string today(const std::string& animal) {
    std::string out;
    const Json list = json({"today"});
    for (const Json& rack : list["racks"]) {
      for (const Json& line : rack["lines"]) {
        if (line["short"] == animal) out += (out.empty() ? "" : ", ") + line["due"].get<std::string>();
      }
    }
    return out;
  }
  std::string prey(const std::string& animal) { return json({"feeding", "show", animal})["prey"]; }
};

const int kUsage = fault_info(Fault::usage).exit_status;

}  // namespace

TEST_CASE("a plan of a species, of a class and of one animal, each before the other") {
  Room room;
  CHECK(room.json({"feeding", "show", "C-1"})["interval_by"] == "rule of thumb");
  room.run({"feeding", "set", "Corn Snake", "--stage", "young", "--age", "0-1y", "--every", "5-7", "--prey", "pinky"});
  room.run(
      {"feeding", "set", "corn snake", "--stage", "grown", "--age", "1y-", "--every", "9-12", "--prey", "adult mouse"});
  Json one = room.json({"feeding", "show", "C-1"});
  CHECK(one["least"] == 9);
  CHECK(one["prey"] == "adult-mouse");
  room.run({"feeding", "set", "breeders", "--new", "--every", "7", "--prey", "hopper", "--count", "2"});
  room.run({"feeding", "use", "breeders", "C-1", "C-2"});
  one = room.json({"feeding", "show", "C-2"});
  CHECK(one["least"] == 7);
  CHECK(one["count"] == 2);
  room.run({"feeding", "set", "C-2", "--every", "14"});
  one = room.json({"feeding", "show", "C-2"});
  CHECK(one["least"] == 14);
  CHECK(one["prey"] == "hopper");
  room.run({"feeding", "set", "C-2", "--every", "none"});
  CHECK(room.json({"feeding", "show", "C-2"})["least"] == 7);
  room.run({"feeding", "use", "none", "C-2"});
  CHECK(room.json({"feeding", "show", "C-2"})["least"] == 9);
  room.run({"feeding", "drop", "corn snake"});
  CHECK(room.json({"feeding", "show", "C-2"})["interval_by"] == "rule of thumb");
}

TEST_CASE("an empty interval, stages that overlap and names that nobody has are clear errors, and change nothing") {
  Room room;
  room.run({"feeding", "set", "corn snake", "--stage", "young", "--age", "0-1y", "--every", "5-7"});
  const std::string before = room.run({"feeding"}).out;
  struct Case {
    std::vector<std::string> words;
    const char* says;
  };
  const Case cases[] = {
      {{"feeding", "set", "corn snake", "--stage", "old", "--age", "6m-2y", "--every", "9"}, "overlap"},
      {{"feeding", "set", "corn snake", "--stage", "old", "--weight", "50g-", "--every", "9"}, "age or by weight"},
      {{"feeding", "set", "corn snake", "--every", "10-7"}, "empty"},
      {{"feeding", "set", "corn snake", "--every", "0"}, "empty"},
      {{"feeding", "set", "corn snake"}, "How often"},
      {{"feeding", "set", "corn snke", "--every", "7"}, "Did you mean “corn snake”"},
      {{"feeding", "set", "corn snake", "--age", "0-6m", "--every", "7"}, "needs a name"},
      {{"feeding", "set", "corn snake", "--every", "7", "--share", "80"}, "at most 60"},
      {{"feeding", "use", "nobody", "C-1"}, "no plan"},
      {{"feeding", "drop", "nobody"}, "no plan"},
      {{"feeding", "set", "C-1", "--every", "7", "--share", "10"}, "plan of a species"},
      {{"prey", "set", "small-rat", "80-50"}, "no weight"},
      {{"fast", "set", "C-1", "2026-12-31", "2026-12-01"}, "empty"},
      {{"fast", "set", "C-1", "2026-12-31", "2028-12-31"}, "over a year"},
      {{"limits", "set", "refusals", "0"}, "from 1 to"},
      {{"limits", "set", "nothing", "3"}, "no limit"},
  };
  for (const Case& one : cases) {
    const Run outcome = room.try_run(one.words);
    INFO(one.words[1] << " " << one.words[2] << ": " << outcome.err);
    CHECK(outcome.status == kUsage);
    CHECK(contains(outcome.err, one.says));
  }
  CHECK(room.run({"feeding"}).out == before);
}

TEST_CASE("a fast asks for no food and is no sign; a meal meanwhile is saved with a warning") {
  Room room;
  CHECK(room.today("C-1") == "food");
  room.run({"fast", "set", "corn snake", "2026-01-01", "2026-12-31", "--sex", "male", "--why", "breeding"});
  const std::string before = room.today("C-1");
  const std::string date = room.json({"today"})["night"];
  if (date < "2026-01-01" || date > "2026-12-31") return;  // the book goes by this computer's clock
  CHECK(before.empty());
  CHECK(room.today("C-2") == "food");
  CHECK(room.json({"today"})["fasting"] == 1);
  CHECK(contains(room.run({"log", "fed", "C-1"}).out, "fasts on purpose"));
  room.run({"fast", "end", "corn snake", "--sex", "male"});
  CHECK(room.json({"today"})["fasting"] == 0);
}

TEST_CASE("ill until well, doses until repeated, stuck until cleared, and no sale meanwhile") {
  Room room;
  room.run({"log", "fed", "C-1", "C-2", "C-3", "C-4", "--at", "72h ago"});
  CHECK(room.today("C-2").empty());
  room.run({"log", "ill", "C-2", "mites"});
  CHECK(room.today("C-2") == "ill");
  CHECK(room.today("C-1") == "near an ill one");
  CHECK(room.today("C-3") == "near an ill one");
  CHECK(room.today("C-4").empty());
  CHECK(contains(room.run({"log", "sold", "C-2"}).out, "may not be sold"));
  room.run({"log", "treated", "C-2", "wormer", "repeat", "2", "--at", "48h ago"});
  CHECK(room.today("C-2") == "ill, dose");
  room.run({"log", "treated", "C-2", "wormer", "--again"});
  CHECK(room.today("C-2") == "ill");
  room.run({"log", "well", "C-2"});
  CHECK(room.today("C-2").empty());
  CHECK(room.today("C-1").empty());
  room.run({"log", "shed", "C-4", "stuck", "tail", "--at", "24h ago"});
  CHECK(room.today("C-4") == "stuck shed");
  room.run({"log", "cleared", "C-4"});
  CHECK(room.today("C-4").empty());
}

TEST_CASE("weight loss is told by a trend, and a full belly does not count") {
  Room room;
  room.run({"log", "fed", "C-2", "--at", "100h ago"});
  const auto weigh = [&](const char* grams, const char* when) {
    room.run({"log", "weighed", "C-2", grams, "--at", when});
  };
  weigh("400", "2400h ago");
  weigh("405", "1700h ago");
  weigh("330", "500h ago");
  CHECK(room.today("C-2").empty());  // one low weight alone
  weigh("325", "30h ago");
  CHECK(room.today("C-2") == "weight loss");
  room.run({"limits", "set", "weight-loss-percent", "30"});
  CHECK(room.today("C-2").empty());
  room.run({"limits", "set", "weight-loss-percent", "usual"});
  room.run({"log", "laid", "C-2", "12+1"});
  CHECK(room.today("C-2").empty());
}

TEST_CASE("after a meal weighing and pairing are warned of, and early food is told") {
  Room room;
  room.run({"log", "fed", "C-2", "adult-mouse", "--at", "20h ago"});
  CHECK(contains(room.run({"log", "weighed", "C-2", "400"}).out, "does not count"));
  CHECK(contains(room.run({"log", "paired", "C-1", "C-2"}).out, "may regurgitate"));
  CHECK(room.json({"today"})["resting"] == 1);
  CHECK(contains(room.run({"today"}).out, "1 ate lately and rests: do not pair, weigh, move or ship C-2"));
  CHECK(room.json({"today", "--resting"})[0]["short"] == "C-2");
  room.run({"log", "ill", "C-4", "mites"});
  CHECK(contains(room.run({"today"}).out, "when it is over: `rackside log well C-4`"));
  room.run({"log", "fed", "C-3", "adult-mouse", "--at", "60h ago"});
  CHECK(contains(room.run({"log", "fed", "C-3", "adult-mouse"}).out, "early"));
  room.run({"animal", "add", "26-1", "--species", "corn snake", "--hatched", room.json({"today"})["night"]});
  CHECK(contains(room.run({"log", "weighed", "26-1", "15kg"}).out, "grams or kilograms"));
}

TEST_CASE("what to thaw, what is left, and who takes the rest") {
  Room room;
  for (const char* animal : {"C-1", "C-2", "C-3", "C-4"}) room.run({"feeding", "set", animal, "--prey", "adult-mouse"});
  room.run({"freezer", "count", "adult-mouse", "10"});
  room.run({"log", "opaque", "C-3"});
  Json thaw = room.json({"thaw", "--for", "tonight"});
  CHECK(thaw["to_feed"] == 3);
  CHECK(thaw["items"][0]["thaw"] == 4);  // three and one spare
  CHECK(thaw["left_out"]["opaque"] == 1);
  room.run({"log", "fed", "C-1", "adult-mouse", "x2"});
  room.run({"log", "fed", "C-2"});
  CHECK(room.json({"freezer"})[0]["left"] == 7);
  Json takers = room.json({"leftovers", "adult-mouse", "3"});
  REQUIRE(takers.size() == 1);
  CHECK(takers[0]["animal"] == "C-4");
  CHECK(room.json({"leftovers", "fuzzy", "3"}).empty());
  room.run({"freezer", "add", "adult-mouse", "50"});
  CHECK(room.json({"freezer"})[0]["left"] == 57);
  CHECK(room.try_run({"thaw", "--for", "someday"}).status == kUsage);
}

TEST_CASE("the sheet is a PDF, and what was ticked on it is entered whole or not at all") {
  Room room;
  const std::string pdf = room.folder / "today.pdf";
  CHECK(room.json({"today", "--sheet", pdf})["pages"] == 1);
  std::ifstream file(pdf, std::ios::binary);
  std::string head(5, ' ');
  file.read(head.data(), 5);
  CHECK(head == "%PDF-");
  const Run wrong = room.try_run({"ticked", "A", "fed: 1-3 9", "eaten: 2", "refused: 3", "shed"});
  CHECK(wrong.status == fault_info(Fault::bad_input).exit_status);
  for (const char* says : {"no tub “9”", "begins no entry", "stands in", "a colon"}) CHECK(contains(wrong.err, says));
  CHECK(room.today("C-1") == "food");
  CHECK(contains(room.run({"ticked", "A", "fed: 1", "--dry-run"}).out, "Nothing was"));
  CHECK(room.today("C-1") == "food");
  Json ticked = room.json({"ticked", "A", "--at", "0 min ago", "fed adult-mouse: 1-2", "refused: A-03", "shed: 2",
                           "weighed 412: 4", "watered: 5"});
  CHECK(ticked.size() == 6);
  CHECK(ticked[5]["left_out"] != "");  // nobody is in tub 5
  CHECK(room.today("C-1").empty());
  // Entered a second time it is left out, not counted twice.
  ticked = room.json({"ticked", "A", "--at", "0 min ago", "fed adult-mouse: 1"});
  CHECK(ticked[0]["recorded"] == false);
  room.run({"ticked", "A", "--at", "0 min ago", "fed: 4"});
  CHECK(room.today("C-4").empty());
  room.run({"ticked", "--undo"});
  CHECK(room.today("C-4") == "food");
  CHECK(room.today("C-1").empty());
}

TEST_CASE("of food that was left in the paper tells the evening and the morning, together or apart") {
  Room room;
  // Typed in any order; the tub's food was left in and taken: no contradiction, and nothing waits any more.
  room.run({"ticked", "A", "--at", "0 min ago", "ate: 1", "offered adult-mouse: 1-4", "leftover: 2"});
  CHECK(room.today("C-1").empty());
  CHECK(room.today("C-2") == "food");
  CHECK(room.today("C-3") == "open offer");
  CHECK(room.json({"questions"}).empty());
  const Run morning = room.run({"ticked", "A", "--at", "0 min ago", "ate: 3", "leftover: 4"});
  CHECK(morning.err.empty());
  CHECK(room.today("C-3").empty());
  CHECK(room.today("C-4") == "food");
  CHECK(room.json({"questions"}).empty());
  room.run({"ticked", "--undo"});
  CHECK(room.today("C-3") == "open offer");
}

TEST_CASE("what cannot both be true of one tub is refused, with the word that is meant") {
  Room room;
  const Run left_in = room.try_run({"ticked", "A", "offered: 1", "fed: 1"});
  CHECK(left_in.status == fault_info(Fault::bad_input).exit_status);
  CHECK(contains(left_in.err, "in the morning `ate` (gone) or `leftover` (still there)"));
  CHECK(contains(room.try_run({"ticked", "A", "refused: 1", "offered: 1"}).err, "Food that was left in is `offered`"));
  CHECK(contains(room.try_run({"ticked", "A", "fed: 1", "ate: 1"}).err, "are seen at once"));
  CHECK(room.try_run({"ticked", "A", "offered: 1", "ate: 1", "leftover: 1"}).status != 0);
  CHECK(room.try_run({"ticked", "A", "fed: 1", "fed: 1"}).status != 0);
  CHECK(room.today("C-1") == "food");
  // The column "ate", typed as it stands on the paper: saved, but it is told what was meant.
  const Run no_offer = room.run({"ticked", "A", "--at", "0 min ago", "ate: 1"});
  CHECK(contains(no_offer.out + no_offer.err, "what was eaten at once is `fed`"));
  CHECK(room.today("C-1").empty());
}
