// A clutch from the egg to the tub, and what a keeper asks of a season, by the real program.
#include <chrono>
#include <nlohmann/json.hpp>

#include "tests/support/catch.h"
#include "tests/support/hub_process.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;
using Json = nlohmann::json;

namespace {

std::string days_ago(int days) {
  const auto now = std::chrono::system_clock::now().time_since_epoch();
  return date_text(static_cast<DayNumber>(std::chrono::duration_cast<std::chrono::hours>(now).count() / 24) - days);
}

/// A dam with a male at her before, in a book of its own.
struct Room {
  Folder folder{Folder::On::memory};
  std::string book = folder / "room.book";

  Room() {
    good({"init", "Ottoline"});
    good({"rack", "add", "A", "--places", "6"});
    good({"rack", "add", "H", "--places", "20"});
    house("C-3", "female", "A-01");
    house("K-1", "male", "A-02");
  }
  /// An animal that has lived there for a while.
  void house(const std::string& name, const std::string& sex, const std::string& place) const {
    good({"animal", "add", name, "--species", "corn snake", "--sex", sex});
    good({"put", name, place, "--at", days_ago(300)});
  }
  Run run(std::vector<std::string> arguments, const std::string& input = {}) const {
    arguments.insert(arguments.begin(), {"--book", book});
    return run_rackside(arguments, input);
  }
  Run good(const std::vector<std::string>& arguments, const std::string& input = {}) const {
    const Run out = run(arguments, input);
    CAPTURE(arguments, out.out, out.err);
    REQUIRE(out.status == 0);
    return out;
  }
  Json json(std::vector<std::string> arguments) const {
    arguments.insert(arguments.begin(), "--json");
    return Json::parse(good(arguments).out);
  }
};

void lay_and_hatch(const Room& room) {
  room.good({"log", "paired", "K-1", "C-3", "--at", days_ago(130)});
  room.good({"log", "separated", "K-1", "--at", days_ago(127)});
  room.good({"log", "laid", "C-3", "14+2", "--at", days_ago(62)});
  room.good({"log", "incubated", "C-3", "83F", "--at", days_ago(62)});
  room.good({"log", "candled", "C-3", "13+1", "--at", days_ago(40)});
  room.good({"log", "pipped", "C-3", "egg", "4", "--at", days_ago(2)});
  room.good({"log", "hatched", "C-3", "egg", "4", "--at", days_ago(1)});
  room.good({"log", "hatched", "C-3", "3", "--at", days_ago(1) + " 20:00"});
}

}  // namespace

TEST_CASE("a clutch: eggs, temperature, candling, pipped and hatched egg by egg") {
  const Room room;
  lay_and_hatch(room);
  const Json clutch = room.json({"clutches"}).at(0);
  CHECK(clutch["good"] == 14);
  CHECK(clutch["slugs"] == 2);
  CHECK(clutch["sires"] == Json::array({"K-1"}));
  CHECK(clutch["incubation"][0]["celsius_tenths"] == 283);  // 83 °F are 28.3 °C
  CHECK(clutch["candlings"][0]["bad"] == 1);
  CHECK(clutch["eggs"][0]["egg"] == 4);
  CHECK(clutch["hatched"] == 4);
  CHECK(clutch["waiting"] == 9);
  CHECK(contains(room.good({"clutches"}).out, "`rackside young C-3`"));
}

TEST_CASE("young are registered once, with parents, day and code, and their cards") {
  const Room room;
  lay_and_hatch(room);
  const std::string cards = room.folder / "cards.pdf";
  const Run first = room.good({"young", "C-3", "--at", "H-05", "--out", cards});
  CHECK(contains(first.out, "4 registered"));
  CHECK(read_text(cards).starts_with("%PDF-"));
  CHECK(contains(room.good({"young", "C-3"}).out, "Nothing is missing"));
  const Json list = room.json({"hatchlings"});
  REQUIRE(list.size() == 4);
  CHECK(list[0]["animal"] == days_ago(62).substr(2, 2) + "-C-3-1");
  CHECK(list[3]["animal"].get<std::string>().ends_with("-4"));
  CHECK(list[3]["place"] == "H-08");
  CHECK(contains(room.good({"show", list[0]["animal"].get<std::string>()}).out, "K-1 × C-3"));
  // More eggs hatch: only those are missing.
  room.good({"log", "hatched", "C-3", "egg", "7"});
  const Run more = room.good({"young", "C-3"});
  CHECK(contains(more.out, "1 registered"));
  CHECK(contains(more.out, "-C-3-7"));
}

TEST_CASE("a recount of the eggs changes no young one's code") {
  const Room room;
  lay_and_hatch(room);
  room.good({"young", "C-3"});
  room.good({"log", "laid", "C-3", "15+1", "--replaces", "--at", days_ago(62) + " 13:00"});
  CHECK(room.json({"clutches", "C-3"}).at(0)["good"] == 15);
  CHECK(contains(room.good({"young", "C-3"}).out, "Nothing is missing"));
}

TEST_CASE("a group that is not told apart becomes young later") {
  const Room room;
  lay_and_hatch(room);
  CHECK(contains(room.good({"young", "C-3", "--group"}).out, "1 registered"));
  CHECK(contains(room.good({"young", "C-3", "--group"}).out, "Nothing is missing"));
  REQUIRE(room.json({"hatchlings"}).size() == 1);
  CHECK(room.json({"hatchlings"})[0]["group"] == true);
  CHECK(contains(room.good({"young", "C-3"}).out, "4 registered"));
  CHECK(room.json({"hatchlings"}).size() == 4);  // the group is nobody any more
}

TEST_CASE("two laptops register the same hatching without a network: no twins, no question") {
  const Folder folder;
  const std::string hub_book = folder / "hub.book";
  found_book(hub_book, "Robin");
  const auto on = [](const std::string& book, std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), {"--book", book});
    const Run out = run_rackside(arguments);
    CAPTURE(arguments, out.out, out.err);
    REQUIRE(out.status == 0);
    return out.out;
  };
  on(hub_book, {"animal", "add", "C-33", "--species", "corn snake", "--sex", "female"});
  on(hub_book, {"log", "laid", "C-33", "6+0", "--at", days_ago(60)});
  HubProcess hub = start_hub(folder, hub_book, Security::plain);
  const std::string one = folder / "one.book";
  const std::string two = folder / "two.book";
  for (const std::string& book : {one, two}) REQUIRE(join_hub(hub, hub_book, book, "helper", "Mira").status == 0);
  for (const std::string& book : {one, two}) {
    on(book, {"log", "hatched", "C-33", "egg", "1", "--at", days_ago(1)});
    on(book, {"log", "hatched", "C-33", "egg", "2", "--at", days_ago(1)});
    CHECK(contains(on(book, {"young", "C-33"}), "2 registered"));
  }
  for (const std::string& book : {one, two, one}) on(book, {"sync"});
  CHECK(digest_of(one) == digest_of(two));
  CHECK(Json::parse(on(one, {"--json", "hatchlings"})).size() == 2);
  CHECK_FALSE(contains(on(one, {"questions"}), "C-33-1"));
  CHECK(contains(on(two, {"young", "C-33"}), "Nothing is missing"));
}

TEST_CASE("a whole clutch is sexed and weighed, one line each; what is not understood is told and the rest recorded") {
  const Room room;
  lay_and_hatch(room);
  room.good({"young", "C-3", "--prefix", "Y"});
  const Run run = room.run({"sex"}, "Y-1 f 9.5\nY-2 m\nnobody f\nY-3 perhaps\nY-4 F 9,1\nundo\nY-4 m 9.1\n");
  CHECK(run.status != 0);
  CHECK(contains(run.out, "3 done, 2.1.0"));
  CHECK(contains(run.err, "nobody"));
  CHECK(contains(run.err, "2 lines were not understood"));
  CHECK(room.json({"show", "Y-4"})["fields"]["sex"] == "male");
  CHECK(contains(room.good({"history", "Y-1"}).out, "weighed 9.5 g"));
}

TEST_CASE("the young: who has not begun to eat and what was tried, who is ready") {
  const Room room;
  lay_and_hatch(room);
  room.good({"young", "C-3", "--prefix", "Y"});
  room.good({"log", "refused", "Y-1", "pinkie", "tongs"});
  room.good({"hatchlings", "set", "meals", "1"});
  room.good({"log", "shed", "Y-2"});
  room.good({"sex"}, "Y-2 f\n");
  room.good({"log", "fed", "Y-2", "pinkie"});
  const std::string text = room.good({"hatchlings"}).out;
  CHECK(contains(text, "1× pinkie (tongs)"));
  CHECK(contains(text, "1 ready"));
  CHECK(room.json({"hatchlings", "--ready"}).size() == 1);
  room.good({"log", "held", "Y-2"});
  CHECK(room.json({"hatchlings", "--ready"}).empty());
}

TEST_CASE("a rotation: out of one, into the next, and why others are passed over") {
  const Room room;
  room.house("C-4", "female", "A-03");
  room.house("C-5", "female", "A-04");
  room.good({"rotation", "set", "K-1", "C-3", "C-4", "C-5", "--in", "2-4", "--since", days_ago(30)});
  room.good({"log", "paired", "K-1", "C-3", "--at", days_ago(4)});
  room.good({"log", "opaque", "C-4"});
  const Json plan = room.json({"rotation"})["plans"][0];
  CHECK(plan["errand"] == "out of A-01, into A-04");
  CHECK(plan["into"] == "C-5");
  CHECK(plan["skipped"][0]["female"] == "C-4");
  CHECK(contains(room.good({"rotation"}).out, "opaque since"));
  CHECK(room.run({"rotation", "set", "K-1", "C-3", "--in", "5-2"}).status != 0);
  CHECK(room.run({"rotation", "set", "C-3", "C-4"}).status != 0);
  room.good({"rotation", "end", "K-1"});
  CHECK(room.json({"rotation"})["plans"].empty());
  CHECK(room.json({"rotation"})["together"][0]["separate"] == true);
}

TEST_CASE("a keeper's questions, for the eye, as a table and for programs") {
  const Room room;
  room.good({"log", "fed", "C-3", "small-rat", "x2", "--at", days_ago(20)});
  room.good({"log", "refused", "C-3", "small-rat", "--at", days_ago(9)});
  const Json hungry = room.json({"ask", "not-eaten", "--days", "15"})["rows"];
  REQUIRE(hungry.size() == 1);
  CHECK(hungry[0]["animal"] == "C-3");
  // Until noon it is still the night of the day before.
  const std::string nights = hungry[0]["nights"];
  CHECK((nights == "20" || nights == "19"));
  CHECK(hungry[0]["refused since"] == "1");
  CHECK(room.json({"ask", "unpaired"})["rows"].size() == 1);
  room.good({"log", "paired", "K-1", "C-3"});
  CHECK(room.json({"ask", "unpaired", "--since", days_ago(30)})["rows"].empty());
  const Json food = room.json({"ask", "eaten", "--from", days_ago(25), "--to", days_ago(0)})["rows"];
  CHECK(food[0]["prey"] == "small-rat");
  CHECK(food[0]["eaten"] == "2");
  CHECK(contains(room.good({"ask", "helpers"}).out, "Ottoline"));
  const std::string csv = room.folder / "answer.csv";
  room.good({"ask", "not-eaten", "--days", "1", "--csv", csv});
  CHECK(read_text(csv).starts_with("place,animal,sex,"));
}

TEST_CASE("hatch rates by pair, with how sure they are") {
  const Room room;
  lay_and_hatch(room);
  room.good({"log", "hatched", "C-3", "9"});
  const Json rows = room.json({"ask", "rates"})["rows"];
  REQUIRE(rows.size() == 2);
  CHECK(rows[0]["sire"] == "K-1");
  CHECK(contains(rows[0]["good eggs"].get<std::string>(), "14/16"));
  CHECK(contains(rows[0]["hatched"].get<std::string>(), "13/14"));
}

TEST_CASE("the story of an animal: a chart in the terminal, a picture, a page") {
  const Room room;
  lay_and_hatch(room);
  for (int i = 0; i < 6; ++i) {
    room.good({"log", "weighed", "C-3", std::to_string(500 + 12 * i), "--at", days_ago(120 - 20 * i)});
    room.good({"log", "fed", "C-3", "small-rat", "--at", days_ago(118 - 20 * i)});
  }
  const Run wrong = room.good({"--json", "log", "shed", "C-3", "--at", days_ago(30)});
  room.good({"void", member(wrong.out, "id")});
  const std::string text = room.good({"show", "C-3"}).out;
  CHECK(contains(text, "14 good, 2 slugs, 4 hatched"));
  CHECK(contains(text, "6 meals"));
  CHECK(contains(text, "“shed complete”"));
  const std::string plain = room.good({"show", "C-3", "--plain"}).out;
  CHECK(contains(plain, "*"));
  const std::string svg = room.folder / "story.svg";
  const std::string page = room.folder / "story.html";
  room.good({"show", "C-3", "--svg", svg, "--page", page});
  CHECK(run_program("python3", {"-c", "import sys, xml.dom.minidom as m; m.parse(sys.argv[1])", svg}).status == 0);
  CHECK(contains(read_text(page), "class=\"gone\""));
  CHECK(room.run({"show", "A-01", "--svg", svg}).status != 0);
}

TEST_CASE("the day's list says where a male goes, and asks for nothing while he rests after a meal") {
  const Room room;
  room.house("C-4", "female", "A-03");
  room.good({"rotation", "set", "K-1", "C-3", "C-4", "--since", days_ago(30)});
  room.good({"log", "paired", "K-1", "C-3", "--at", days_ago(4)});
  CHECK(contains(room.good({"today"}).out, "out of A-01, into A-03 with C-4"));
  room.good({"log", "fed", "K-1"});
  CHECK_FALSE(contains(room.good({"today"}).out, "into A-03"));
}

TEST_CASE(
    "a hatchling of whose look nobody was sure is looked at again after its first shed, and no longer once told") {
  const Room room;
  room.good({"animal", "add", "Y-1", "--species", "corn snake", "--hatched", days_ago(6)});
  room.good({"put", "Y-1", "H-01"});
  room.good({"says", "Y-1", "visual", "amel", "--basis", "seen", "--certainty", "think-so", "--or", "hypo"});
  const auto today = [&] { return room.run({"today"}).out; };
  const auto has = [](const std::string& text, const char* part) { return text.find(part) != std::string::npos; };
  CHECK(!has(today(), "look again"));
  room.good({"log", "shed", "Y-1"});
  CHECK(has(today(), "nobody was sure of its look, and it has shed since (today): look again"));
  room.good({"says", "Y-1", "visual", "hypo", "--basis", "seen"});
  CHECK(!has(today(), "look again"));
}
