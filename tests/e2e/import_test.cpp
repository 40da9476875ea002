// A keeper's own table in mid-season: read in, told line by line, taken back; written out and read in again.
#include <random>
#include <sstream>

#include "core/base/error.h"
#include "tests/support/catch.h"
#include "tests/support/program.h"

using namespace rackside::tests;
using rackside::core::Fault;
using rackside::core::fault_info;

namespace {

struct Room {
  Folder folder{Folder::On::memory};
  std::string book = folder / "room.book";

  Room() { REQUIRE(run({"init", "Ottoline"}).status == 0); }
  Run run(std::vector<std::string> arguments, const std::string& input = {}) const {
    arguments.insert(arguments.begin(), {"--book", book});
    return run_rackside(arguments, input);
  }
  Run import(const std::string& text, std::vector<std::string> more = {}) const {
    write_text(folder / "table.csv", text);
    more.insert(more.begin(), {"import", "animals", folder / "table.csv"});
    return run(more);
  }
  std::string digest() const { return run({"check", "--digest"}).out; }
};

const std::string kMidSeason =
    "ID;Gender;Species;Date of Birth;Tub;Morph;Father;Mother;Bought from;Acquired;Last fed;Last prey;Grams;Paired with;"
    "Paired since;Gravid since\r\n"
    "C-1;f;corn snake;2020;A-01;amel; ; ;A fair;2021-03-01;2026-11-20;adult mouse;612;K-1;2026-11-21;\r\n"
    "C-2;f;corn snake;2021-07;A-02;het amel;;;;;2026-11-19;;540;;;2026-11-10\r\n"
    "K-1;m;corn snake;15.07.2020;B-01;66 % het anery;;;;;;;410;;;\r\n"
    "C-3;;corn snake;2026-08-01;;;K-1;C-2;;;;;9,5;;;\r\n";

std::size_t lines_with(const std::string& text, const std::string& what) {
  std::size_t count = 0;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) count += line.find(what) != std::string::npos;
  return count;
}

}  // namespace

TEST_CASE("a table in mid-season: racks, genes, an open pairing, a gravid female, last meals") {
  const Room room;
  const Run run = room.import(kMidSeason, {"--make-racks"});
  CAPTURE(run.out, run.err);
  REQUIRE(run.status == 0);
  CHECK(contains(run.out, "4 animals, 2 new racks registered"));
  const std::string male = room.run({"--json", "show", "K-1"}).out;
  CHECK(contains(male, "\"place\":\"A-01 with C-1\""));
  CHECK(contains(room.run({"history", "C-1"}).out, "adult-mouse"));
  CHECK(contains(room.run({"history", "C-2"}).out, "is gravid"));
  CHECK(contains(room.run({"history", "C-1"}).out, "put to C-1"));
  CHECK(contains(room.run({"genes", "C-3"}).out, "amel"));
  CHECK(room.run({"check"}).status == 0);
}

TEST_CASE("a dry run writes nothing and says what would be") {
  const Room room;
  const std::string before = room.digest();
  const Run run = room.import(kMidSeason, {"--make-racks", "--dry-run"});
  CHECK(run.status == 0);
  CHECK(contains(run.out, "Nothing was recorded"));
  CHECK(contains(run.out, "a usual name of it"));
  CHECK(room.digest() == before);
}

TEST_CASE("an import is taken back whole, and the names are free again") {
  const Room room;
  REQUIRE(room.import(kMidSeason, {"--make-racks"}).status == 0);
  const Run undo = room.run({"import", "undo"});
  CAPTURE(undo.out, undo.err);
  REQUIRE(undo.status == 0);
  CHECK(contains(room.run({"--json", "list"}).out, "[]"));
  CHECK(contains(room.run({"import", "list"}).out, "taken back"));
  CHECK(room.import(kMidSeason, {"--make-racks"}).status == 0);
  CHECK(room.run({"check"}).status == 0);
}

TEST_CASE("an import is not taken back under entries that were made since, unless told so") {
  const Room room;
  REQUIRE(room.import(kMidSeason, {"--make-racks"}).status == 0);
  REQUIRE(room.run({"log", "shed", "C-2"}).status == 0);
  const Run undo = room.run({"import", "undo"});
  CHECK(undo.status == fault_info(Fault::bad_input).exit_status);
  CHECK(contains(undo.out, "C-2"));
  CHECK(room.run({"import", "undo", "--even-so"}).status == 0);
}

TEST_CASE("what a column is can be said, and is known the next time") {
  const Room room;
  CHECK(room.import("Tier,Vet\nC-1,x\n").status != 0);
  CHECK(room.import("Tier,Vet\nC-1,x\n", {"--map", "Tier=short", "--map", "Vet=-"}).status == 0);
  const Run again = room.import("Tier,Vet\nC-2,x\n");
  CHECK(again.status == 0);
  CHECK(contains(again.out, "you said so before"));
}

TEST_CASE("2000 lines in three encodings with planted mistakes: each is told by its line, nothing is half imported") {
  const Room room;
  const std::string before = room.digest();
  std::mt19937 random(6);
  std::ostringstream text;
  text << "short,name,sex,hatched,sold,sire,dam,weight\n";
  std::vector<std::pair<int, std::string>> planted;
  for (int line = 2; line <= 2001; ++line) {
    std::string id = "S-" + std::to_string(line);
    std::string sex = random() % 2 == 0 ? "m" : "f";
    std::string hatched = "2024-0" + std::to_string(1 + random() % 9) + "-11";
    std::string sold;
    std::string dam;
    const auto plant = [&](const std::string& what) { planted.emplace_back(line, what); };
    switch (line % 100) {
      case 10:
        hatched = "2024-02-30";
        plant("is no day of the calendar");
        break;
      case 20:
        sex = "perhaps";
        plant("is no sex");
        break;
      case 30:
        id = "S-2";
        plant("stands twice in the table");
        break;
      case 40:
        dam = "nobody-" + std::to_string(line);
        plant("is neither in the table nor in the book");
        break;
      case 50:
        sold = "2023-05-05";
        plant("before it hatched");
        break;
      default:
        break;
    }
    text << id << ",Müllers Äffchen," << sex << ',' << hatched << ',' << sold << ",," << dam << ",21\n";
  }
  REQUIRE(planted.size() == 100);
  write_text(room.folder / "utf8.csv", text.str());
  for (const char* encoding : {"UTF-8", "WINDOWS-1252", "UTF-16"}) {
    CAPTURE(encoding);
    const Run converted = run_program("iconv", {"-f", "UTF-8", "-t", encoding, room.folder / "utf8.csv"});
    REQUIRE(converted.status == 0);
    const Run run = room.import(converted.out);
    CHECK(run.status == fault_info(Fault::bad_input).exit_status);
    CHECK(lines_with(run.out, "✗ wrong") == planted.size());
    for (const auto& [line, what] : planted) {
      const auto at = run.out.find("line " + std::to_string(line) + " ");
      CAPTURE(line, what);
      REQUIRE(at != std::string::npos);
      CHECK(run.out.substr(at, run.out.find('\n', at) - at).find(what) != std::string::npos);
    }
    CHECK(contains(run.err, "100 things wrong"));
    CHECK(room.digest() == before);
  }
}

TEST_CASE("doubts are asked about, and taken as they stand with --even-so") {
  const Room room;
  const std::string text = "short,hatched,weight,weighed\nC-1,2026-11-01,15000,2026-11-05\n";
  const Run asks = room.import(text);
  CHECK(asks.status == fault_info(Fault::bad_input).exit_status);
  CHECK(contains(asks.out, "! asks"));
  CHECK(room.import(text, {"--even-so"}).status == 0);
}

TEST_CASE("what is exported is read in again by another book, and comes out the same") {
  const Room room;
  REQUIRE(room.import(kMidSeason, {"--make-racks"}).status == 0);
  const std::string out = room.folder / "out";
  const Run run = room.run({"export", out});
  CAPTURE(run.out, run.err);
  REQUIRE(run.status == 0);
  const Room other;
  const Run back = other.run({"import", "animals", out + "/animals.csv", "--make-racks"});
  CAPTURE(back.out, back.err);
  REQUIRE(back.status == 0);
  REQUIRE(other.run({"export", other.folder / "out"}).status == 0);
  CHECK(read_text(out + "/animals.csv") == read_text(other.folder / "out/animals.csv"));
  const std::string log = read_text(out + "/log.jsonl");
  CHECK(lines_with(log, "\"event\":{\"v\":1,") == lines_with(log, "\"device\""));
  CHECK(contains(read_text(out + "/events.csv"), "is gravid"));
}

TEST_CASE("the register of an inspection names supplier, treatment and the days of sale and death, by period") {
  const Room room;
  REQUIRE(room.import("short,sex,hatched,acquired,supplier,treated,treated-on,sold,died\n"
                      "R-1,f,2020-05-01,2021-01-15,A fair in spring,ivermectin,2026-02-03,,\n"
                      "R-2,m,2019,,,,,2024-06-01,2024-09-09\n"
                      "R-3,,2026-08-01,,,,,,\n")
              .status == 0);
  const std::string csv = room.folder / "register.csv";
  const std::string pdf = room.folder / "register.pdf";
  const Run run = room.run({"register", "--from", "2025-01-01", "--to", "2026-11-27", "--csv", csv, "--pdf", pdf});
  CAPTURE(run.out, run.err);
  REQUIRE(run.status == 0);
  CHECK(contains(run.out, "check your local rules"));
  const std::string table = read_text(csv);
  CHECK(contains(table, "R-1,,female,2020-05-01,6 years,2021-01-15,A fair in spring,2026-02-03 ivermectin,,,"));
  CHECK_FALSE(contains(table, "R-2"));
  CHECK(contains(table, "R-3"));
  CHECK(read_text(pdf).starts_with("%PDF-"));
  CHECK(contains(room.run({"register", "--from", "2024-01-01", "--to", "2024-12-31"}).out, "2024-09-09"));
  CHECK(room.run({"register", "--from", "2026-01-01", "--to", "2025-01-01"}).status != 0);
}
