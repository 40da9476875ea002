#include <nlohmann/json.hpp>
#include <sstream>

#include "tests/support/catch.h"
#include "tests/support/program.h"

using namespace rackside::tests;
using Json = nlohmann::json;

namespace {

/// A rack of four places; C-01 (female), C-02 (male) and C-03 live in the first three.
struct Room {
  Folder folder;
  std::string book = folder / "room.book";

  Room() {
    must({"init", "Ottoline"});
    must({"rack", "add", "A", "--places", "4"});
    must({"animal", "add", "C-01", "--sex", "female", "--at", "A-01"});
    must({"animal", "add", "C-02", "--sex", "male", "--at", "A-02"});
    must({"animal", "add", "C-03", "--at", "A-03"});
  }
  Run run(std::vector<std::string> arguments, const std::string& input = {}) const {
    arguments.insert(arguments.begin(), {"--book", book});
    return run_rackside(arguments, input);
  }
  Run must(const std::vector<std::string>& arguments, const std::string& input = {}) const {
    Run result = run(arguments, input);
    CAPTURE(result.out, result.err);
    REQUIRE(result.status == 0);
    return result;
  }
  std::string code(const std::string& label) const { return member(must({"--json", "show", label}).out, "code"); }
  /// What stands in the history, newest first.
  std::vector<std::string> history(const std::string& label) const {
    std::vector<std::string> out;
    for (const Json& line : Json::parse(must({"--json", "history", label}).out)) {
      if (line.at("state") == "") out.push_back(line.at("what"));
    }
    return out;
  }
};

std::vector<Json> lines(const std::string& text) {
  std::vector<Json> out;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) out.push_back(Json::parse(line));
  return out;
}

}  // namespace

TEST_CASE("a thing, then its entries: one outcome a line, whatever ends the lines") {
  const Room room;
  const Run scan =
      room.must({"scan"}, room.code("A-01") + "\r\nfed small-rat x2\r" + "c-02\nshed stuck tail\n\n  \nweighed 41.2g");
  CHECK(contains(scan.out, "saved: A-01: C-01 ate 2 × small-rat"));
  CHECK(contains(scan.out, "saved: C-02 shed, stuck: tail"));
  CHECK(contains(scan.out, "3 entries recorded"));
  CHECK(room.history("C-01").at(0) == "ate 2 × small-rat");
  CHECK(room.history("C-02").at(0) == "weighed 41.2 g");
}

TEST_CASE("an entry first is a round, until done or another entry") {
  const Room room;
  const Run scan = room.must({"--json", "scan"}, "offered mouse\nA-01\nA-02\nrefused\nA-03\ndone\nA-01\n");
  const auto all = lines(scan.out);
  REQUIRE(all.size() == 7);
  const std::vector<std::string> expected = {"set", "recorded", "recorded", "set", "recorded", "set", "shown"};
  for (std::size_t i = 0; i < all.size(); ++i) CHECK(all[i].at("outcome") == expected[i]);
  CHECK(all[6].at("recorded") == 3);
  CHECK(contains(room.history("C-03").at(0), "refused"));
}

TEST_CASE("the same label and entry within seconds count once, and `again` is a second serving") {
  const Room room;
  const auto all = lines(room.must({"--json", "scan"}, "fed mouse\nA-01\nA-01\nfed mouse again\nA-01\n").out);
  CHECK(all.at(1).at("outcome") == "recorded");
  CHECK(all.at(2).at("outcome") == "doubled");
  CHECK(all.at(4).at("outcome") == "recorded");
  const auto unguarded = lines(room.must({"--json", "scan", "--guard", "0"}, "watered\nA-01\nA-01\n").out);
  CHECK(unguarded.at(2).at("outcome") == "recorded");
}

TEST_CASE("a second meal where nobody can be asked is saved as seen, and says how to say it") {
  const Room room;
  const auto all = lines(room.must({"--json", "scan"}, "C-01 fed mouse\nC-01 fed pinky\n").out);
  CHECK(all.at(1).at("outcome") == "recorded");
  CHECK(contains(all.at(1).at("notices").dump(), "again"));
}

TEST_CASE("undo takes back what this device wrote, one after the other") {
  const Room room;
  room.must({"scan"}, "C-01\nfed mouse\nshed\nundo\nundo\nfed mouse\n");
  const auto history = room.history("C-01");
  CHECK(history.at(0) == "ate mouse");
  CHECK(history.at(1) != "shed complete");
  CHECK(contains(room.must({"scan"}, "undo\n").out, "taken back: C-01 ate mouse"));
}

TEST_CASE("what cannot be understood is reported line by line, the rest is saved, and the exit status tells") {
  const Room room;
  // A digit: an A in the place of a Q would be read, as from a scanner that types for a French keyboard.
  std::string spoilt = room.code("A-01");
  spoilt[4] = spoilt[4] == '7' ? '8' : '7';
  const Run mistyped = room.run({"scan"}, "C-01\nfed mouse\n" + spoilt + "\nC-02\nshed\n");
  CHECK(mistyped.status == 3);
  CHECK(contains(mistyped.out, "NOT SAVED"));
  CHECK(contains(mistyped.out, "2 entries recorded, 1 line not understood"));
  CHECK(contains(mistyped.err, "line 3"));
  CHECK(room.run({"scan"}, "no-such\n").status == 4);
  CHECK(room.run({"scan"}, "C-01\nweighed lots\n").status == 2);
  CHECK(room.run({"scan"}, "").status == 0);
}

TEST_CASE("a code that this book does not know yet is kept, with a warning") {
  const Room room;
  const Room other;
  const auto all = lines(room.must({"--json", "scan"}, other.code("C-01") + "\nfed mouse\n").out);
  CHECK(all.at(1).at("outcome") == "recorded");
  CHECK(contains(all.at(1).at("warnings").dump(), "does not know"));
  CHECK(room.must({"check"}).status == 0);
}

TEST_CASE("a scanner with a wrong keyboard is read and set right") {
  const Room room;
  // As a German computer shows the link form of a US scanner; from xkb-data's symbols/de.
  std::string typed = "HTTPSÖ--RACK.LOCAL-";
  for (const char c : room.code("A-01")) typed += c == 'Y' ? 'Z' : c == 'Z' ? 'Y' : c;
  const Run scan = room.must({"scan"}, typed + "\nfed mouse\n");
  CHECK(contains(scan.out, "keyboard"));
  CHECK(contains(scan.out, "saved: A-01: C-01 ate mouse"));
}

TEST_CASE("pairing, two at one tub, separation") {
  const Room room;
  const auto all = lines(
      room.must({"--json", "scan"}, "A-02\npaired C-01\nA-01\nlocked\nC-02 fed mouse\nC-01 separated\nA-02\n").out);
  CHECK(contains(all.at(1).at("message").get<std::string>(), "C-02 put to C-01 at A-01"));
  CHECK(all.at(2).at("labels").size() == 2);
  CHECK(contains(all.at(4).at("warnings").dump(), "snakes eat snakes"));
  CHECK(contains(all.at(5).at("message").get<std::string>(), "C-02 was separated"));
  CHECK(all.at(6).at("labels") == Json::array({"C-02"}));
  const Run death = room.run({"scan"}, "C-01 paired C-02\nA-01\ndied\n");
  CHECK(death.status == 2 + 3);
  CHECK(contains(death.out, "scan the card"));
}

TEST_CASE("the rest of a rack ate, by hand and while scanning") {
  const Room room;
  room.must({"scan"}, "offered mouse\nA-01\nA-02\ndone\nA-02\nleftover\n");
  CHECK(contains(room.must({"rest-ate", "A"}).out, "1 (C-01)"));
  CHECK(contains(room.must({"scan"}, "A-01\nrest-ate\n").out, "no offer is open"));
}

TEST_CASE("by hand: things and words in either order, all or none") {
  const Room room;
  room.must({"log", "fed", "C-01", "C-03", "small-rat", "x2"});
  CHECK(room.history("C-01").at(0) == "ate 2 × small-rat");
  CHECK(room.history("C-03").at(0) == "ate 2 × small-rat");
  room.must({"log", "shed", "C-03", "--at", "20 min ago", "--note", "found in the morning"});
  // Told as of 20 minutes ago, it stands before what was recorded just now.
  const auto story = Json::parse(room.must({"--json", "history", "C-03"}).out);
  CHECK(story.back().at("what") == "shed complete");
  CHECK(story.back().at("note") == "found in the morning");
  room.must({"log", "weighed 412", "C-01"});
  CHECK(room.history("C-01").at(0) == "weighed 412 g");
  const std::size_t before = room.history("C-01").size();
  CHECK(room.run({"log", "shed", "C-01", "C-99"}).status == 2);
  CHECK(room.run({"log", "shed"}).status == 2);
  CHECK(room.run({"log", "shad", "C-01"}).status == 2);
  CHECK(room.run({"log", "shed", "C-99"}).status == 4);
  CHECK(room.run({"log", "fed", "C-01", "ABCDEFGHJK"}).status == 3);  // ten letters: a mistyped code, never a prey
  CHECK(room.history("C-01").size() == before);
  room.must({"log", "treated", "C-01", "ivermectin"});  // ten letters as well, and a remedy
  CHECK(room.history("C-01").size() == before + 1);
}

TEST_CASE("withdrawn and restored, by id and by animal") {
  const Room room;
  const std::string id = member(room.must({"--json", "log", "fed", "C-01", "mouse"}).out, "id");
  room.must({"void", id});
  CHECK(room.history("C-01").at(0) != "ate mouse");
  CHECK(room.run({"void", id}).status == 2);
  room.must({"restore", "C-01"});
  CHECK(room.history("C-01").at(0) == "ate mouse");
  CHECK(room.run({"restore", id}).status == 2);
  room.must({"void", "C-01", "--note", "wrong tub"});
  CHECK(room.history("C-01").at(0) != "ate mouse");
}

TEST_CASE("photos instead of keystrokes: each label once, the card before its place") {
  const Room room;
  const std::string photo = room.folder / "rack.jpg";
  room.must({"demo", "photo", "A-01", "A-02", "--seed", "3", "--out", photo});
  const Run look = room.run({"scan", "--images", photo});
  CHECK(look.status == 2);
  CHECK(contains(look.out, "A-01: C-01"));
  CHECK(contains(look.err, "--entry"));
  const Run fed = room.must({"scan", "--images", photo, "--entry", "fed mouse"});
  CHECK(contains(fed.out, "2 entries recorded"));
  CHECK(room.history("C-02").at(0) == "ate mouse");
  const Run none = room.run({"scan", "--images", room.folder / "none.jpg", "--entry", "fed mouse"});
  CHECK(none.status != 0);
}
