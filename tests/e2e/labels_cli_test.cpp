// The verbs that print, on a small book, with a printer that only takes notes.
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "core/base/error.h"
#include "tests/support/catch.h"
#include "tests/support/program.h"

using namespace rackside::tests;
using rackside::core::Fault;
using rackside::core::fault_info;
using Json = nlohmann::json;

namespace {

struct Room {
  Folder folder{Folder::On::memory};
  std::string book = folder / "room.book";

  Room() {
    must({"init", "Ottoline"});
    must({"rack", "add", "A", "--places", "5"});
    must({"rack", "add", "Q", "--places", "3", "--quarantine"});
    must(
        {"animal", "add", "C-14", "--species", "corn snake", "--sex", "female", "--prey", "small-rat", "--at", "A-01"});
    must(
        {"animal", "add", "C-20", "--species", "corn snake", "--sex", "male", "--prey", "adult-mouse", "--at", "Q-02"});
    must({"says", "C-14", "visual", "amel"});
  }
  Run run(std::vector<std::string> arguments) const {
    arguments.insert(arguments.begin(), {"--book", book});
    return run_rackside(arguments);
  }
  Run must(const std::vector<std::string>& arguments) const {
    const Run result = run(arguments);
    CAPTURE(arguments, result.err);
    REQUIRE(result.status == 0);
    return result;
  }
  Json json(std::vector<std::string> arguments) const {
    arguments.insert(arguments.begin(), "--json");
    return Json::parse(must(arguments).out);
  }
  /// With another PATH, so that `lp` is the one that is given, or none.
  Run run_with_path(const std::string& path, std::vector<std::string> arguments) const {
    arguments.insert(arguments.begin(), {"PATH=" + path, RACKSIDE_PROGRAM, "--book", book});
    return run_program("/usr/bin/env", arguments);
  }
};

/// A folder with an `lp` that writes down how it was called, keeps what it was given, and answers as CUPS does.
std::string fake_lp(const Folder& folder, const std::string& end = "echo 'request id is tubs-7 (1 file(s))'") {
  const std::string path = folder / "bin";
  std::filesystem::create_directories(path);
  write_text(path + "/lp", "#!/bin/sh\nfor word; do echo \"$word\"; last=$word; done > " + (folder / "words") +
                               "\n/bin/cat \"$last\" > " + (folder / "taken") + "\n" + end + "\n");
  std::filesystem::permissions(path + "/lp", std::filesystem::perms::owner_all);
  return path;
}

bool is_file(const std::string& path) {
  return std::filesystem::is_regular_file(path);
}

}  // namespace

TEST_CASE("each kind of label is printed and proven from the book") {
  const Room room;
  room.must({"helper", "add", "Sefa"});
  room.must({"log", "laid", "C-14", "7+1"});
  const struct {
    std::vector<std::string> verb;
    std::size_t labels;
  } rows[] = {{{"places"}, 8},
              {{"places", "A"}, 5},
              {{"strips"}, 8},
              {{"animals"}, 2},
              {{"hatchlings", "C-14"}, 1},
              {{"sale", "C-14"}, 1},
              {{"helpers"}, 2},
              {{"clutch", "C-14"}, 1},
              {{"clutch", "C-14", "--boxes", "3"}, 3},
              {{"scan-sheet"}, 10},
              {{"calibrate", "--sheet", "letter-3x10"}, 0}};
  int number = 0;
  for (const auto& row : rows) {
    std::vector<std::string> arguments = {"label"};
    arguments.insert(arguments.end(), row.verb.begin(), row.verb.end());
    const std::string out = room.folder / ("print-" + std::to_string(++number) + ".pdf");
    arguments.insert(arguments.end(), {"--out", out});
    CAPTURE(arguments);
    const Json told = room.json(arguments);
    CHECK(told.at("proven").size() == row.labels);
    CHECK(read_text(out).starts_with("%PDF-"));
    if (row.labels > 0) CHECK(told.at("phone_mm").get<double>() > 100);
  }
}

TEST_CASE("a clutch's boxes keep their codes, and a scan of one is a scan of the dam's") {
  const Room room;
  room.must({"log", "laid", "C-14", "7+1"});
  const std::vector<std::string> print = {
      "label", "clutch", "C-14", "--boxes", "2", "--out", room.folder / "boxes.pdf"};
  const Json first = room.json(print);
  CHECK(room.json(print).at("proven") == first.at("proven"));
  const std::string code = first.at("proven").at(1);
  CHECK(code.starts_with("E"));
  CHECK(contains(room.must({"show", code}).out, "C-14"));
  const Run none = room.run({"label", "clutch", "C-20"});
  CHECK(none.status == fault_info(Fault::bad_input).exit_status);
  CHECK(contains(none.err, "C-20 has laid nothing by this book"));
}

TEST_CASE("only what changed since it was printed last is printed, and again as it was") {
  const Room room;
  const std::string out = room.folder / "cards.pdf";
  const auto changed = [&](const std::vector<std::string>& more = {}) {
    std::vector<std::string> arguments = {"--json", "label", "animals", "--changed", "--out", out};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return room.run(arguments);
  };
  CHECK(Json::parse(changed({"--dry-run"}).out).at("proven").size() == 2);  // registers nothing
  CHECK(Json::parse(changed({"--no-record"}).out).at("recorded") == false);
  const Json first = Json::parse(changed().out);
  CHECK(first.at("proven").size() == 2);
  CHECK(first.at("recorded") == true);
  CHECK(changed().status == fault_info(Fault::bad_input).exit_status);
  room.must({"animal", "edit", "C-20", "--prey", "medium-rat"});
  CHECK(Json::parse(changed().out).at("proven").size() == 1);
  CHECK(changed().status == fault_info(Fault::bad_input).exit_status);
  room.must({"put", "C-14", "Q-01"});  // a warning is on the card now
  CHECK(Json::parse(changed().out).at("proven").size() == 1);

  const Json roll =
      room.json({"label", "animals", "C-20", "--roll", "57x32", "--dpi", "300", "--out", room.folder / "r.pdf"});
  CHECK(roll.at("pages") == 1);
  const Json again = room.json({"label", "again", "C-20", "--out", room.folder / "again.pdf"});
  CHECK(again.at("proven") == roll.at("proven"));
  const Json prints = room.json({"label", "prints"});
  CHECK(prints.at(0).at("on") == "57x32@300");
  CHECK(prints.at(0).at("design") == "animal");
  const Run never = room.run({"label", "again", "A-01"});
  CHECK(contains(never.err, "No print of A-01 is registered"));
  CHECK(room.run({"check"}).status == 0);
}

TEST_CASE("a roll is a PDF of one label a page, or a folder of pictures") {
  const Room room;
  const std::string folder = room.folder / "labels/";
  CHECK(room.json({"label", "places", "A", "--roll", "50x25", "--repeat", "2", "--out", folder}).at("files").size() ==
        10);
  CHECK(is_file(folder + "A-01 (1).png"));
  CHECK(room.json({"label", "places", "A", "--roll", "50x25", "--out", room.folder / "r.pdf"}).at("pages") == 5);
  const Run many = room.run({"label", "places", "A", "--roll", "50x25", "--out", room.folder / "r.png"});
  CHECK(many.status == fault_info(Fault::usage).exit_status);
  const Run small = room.run({"label", "places", "A", "--roll", "14x9", "--out", room.folder / "no.pdf"});
  CHECK(small.status == fault_info(Fault::bad_input).exit_status);
  CHECK(contains(small.err, "What fits: a label of at least"));
  CHECK_FALSE(is_file(room.folder / "no.pdf"));
  CHECK_FALSE(is_file(room.folder / "no.pdf.part"));
}

TEST_CASE("labels go to a printer through lp, with the paper's size and unscaled") {
  const Room room;
  const std::string out = room.folder / "places.pdf";
  const std::string path = fake_lp(room.folder);
  const Run sent = room.run_with_path(path, {"label", "places", "--printer", "tubs", "--out", out});
  CAPTURE(sent.err);
  REQUIRE(sent.status == 0);
  CHECK(contains(sent.out, "request id is tubs-7"));
  CHECK(read_text(room.folder / "taken") == read_text(out));
  const std::string words = read_text(room.folder / "words");
  CHECK(contains(words, "-d\ntubs\n"));
  CHECK(contains(words, "media=A4\n"));
  CHECK(contains(words, "print-scaling=none\n"));
  CHECK(contains(words, "--\n" + out));

  std::filesystem::remove(room.folder / "words");
  const Run dry =
      room.run_with_path(path, {"label", "animals", "C-14", "--roll", "57x32", "--print", "--dry-run", "--out", out});
  CHECK(dry.status == 0);
  CHECK(contains(dry.out, "lp -t 'animal cards' -o media=Custom.57x32mm -o print-scaling=none -- " + out));
  CHECK_FALSE(is_file(room.folder / "words"));
}

TEST_CASE("a printer that is not there is told clearly, and nothing counts as printed") {
  const Room room;
  const std::string out = room.folder / "places.pdf";
  const Run none = room.run_with_path(room.folder / "nothing", {"label", "places", "--print", "--out", out});
  CHECK(none.status == fault_info(Fault::bad_input).exit_status);
  CHECK(contains(none.err, "There is no program `lp` on this computer"));
  CHECK(contains(none.err, "The labels are ready in " + out));
  CHECK(is_file(out));
  const std::string path = fake_lp(room.folder, "echo 'lp: The printer or class does not exist.' >&2; exit 1");
  const Run refused = room.run_with_path(path, {"label", "places", "--printer", "x", "--out", out});
  CHECK(refused.status == fault_info(Fault::bad_input).exit_status);
  CHECK(contains(refused.err, "lp: The printer or class does not exist."));
  CHECK(room.json({"label", "prints"}).empty());
}

TEST_CASE("designs and sheets of the keeper's own are files, and what is wrong in them is told by line") {
  const Room room;
  write_text(room.folder / "card", "for animal\nsize 57 x 32\nhuge name\nlarge sex\nboxes 4 \"meals\"\n");
  CHECK(room.json({"label", "animals", "--design", room.folder / "card", "--roll", "57x32", "--out",
                   room.folder / "a.pdf"})
            .at("proven")
            .size() == 2);
  const Run wrong_size = room.run({"label", "animals", "--design", room.folder / "card"});
  CHECK(contains(wrong_size.err, "The design is for labels of 57 x 32 mm"));
  const Run wrong_kind = room.run({"label", "places", "--design", room.folder / "card"});
  CHECK(contains(wrong_kind.err, "is for “animal”"));
  write_text(room.folder / "bad", "for animal\nhuge nam\n");
  CHECK(contains(room.run({"label", "animals", "--design", room.folder / "bad"}).err,
                 "line 2: “nam” is no field. Do you mean “name”?"));
  write_text(room.folder / "sheet", "page 210 x 297\nlabels 2 x 5\nlabel 100 x 55\n");
  CHECK(room.json({"label", "places", "--sheet", room.folder / "sheet", "--out", room.folder / "p.pdf"}).at("pages") ==
        1);
  CHECK(contains(room.run({"label", "places", "--sheet", "a4-1x1"}).err, "There is no sheet"));
  CHECK(contains(room.must({"label", "design", "sale"}).out, "\nfor     sale\n"));
}

TEST_CASE("a preview is a PNG as large as the label") {
  const Room room;
  const std::string out = room.folder / "look.png";
  const Json told =
      room.json({"label", "preview", "C-14", "--as", "hatchling", "--roll", "38x21", "--dpi", "203", "--out", out});
  CHECK(told.at("module_mm").get<double>() > 0.4);
  const std::string png = read_text(out);
  REQUIRE(png.size() > 24);
  CHECK(static_cast<unsigned char>(png[19]) + 256 * static_cast<unsigned char>(png[18]) == 304);  // 38 mm at 203 dpi
  CHECK(room.run({"label", "preview", "C-14", "--as", "tub"}).status == fault_info(Fault::usage).exit_status);
}
