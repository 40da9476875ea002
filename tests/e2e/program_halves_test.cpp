// The program comes in two files: the daily verbs start without the libraries for pictures, pages and the network.
#include <filesystem>

#include "tests/support/catch.h"
#include "tests/support/program.h"

using namespace rackside::tests;

TEST_CASE("what is run every day loads nothing for pictures, pages or the network", "[program]") {
  const Run daily = run_program("ldd", {RACKSIDE_PROGRAM});
  REQUIRE(daily.status == 0);
  CHECK(contains(daily.out, "libsqlite3"));
  for (const char* library : {"libpango", "libcairo", "libZXing", "libqrencode", "libpng", "libjpeg", "libssl"})
    CHECK_FALSE(contains(daily.out, library));
  const Run whole = run_program("ldd", {std::string(RACKSIDE_PROGRAM) + "-all"});
  CHECK(contains(whole.out, "libpango"));
}

TEST_CASE("both halves give the same answers to the daily verbs", "[program]") {
  const Folder folder;
  const std::string book = folder / "a.book";
  REQUIRE(run_rackside({"--book", book, "init", "Robin"}).status == 0);
  REQUIRE(run_rackside({"--book", book, "rack", "add", "A", "--places", "2"}).status == 0);
  REQUIRE(run_rackside({"--book", book, "animal", "add", "C-1", "--species", "corn snake", "--at", "A-01"}).status ==
          0);
  REQUIRE(run_rackside({"--book", book, "log", "fed", "c-1"}).status == 0);
  for (const std::vector<std::string>& words :
       std::vector<std::vector<std::string>>{{"--book", book, "today"},
                                             {"today", "--book", book, "--json"},
                                             {"--book=" + book, "show", "C-1"},
                                             {"--json", "--book", book, "list"},
                                             {"log", "--help"},
                                             {"today", "--wrong"},
                                             {"log", "fed", "nobody", "--book", book}}) {
    const Run half = run_rackside(words);
    const Run whole = run_program(std::string(RACKSIDE_PROGRAM) + "-all", words);
    CHECK(half.status == whole.status);
    CHECK(half.out == whole.out);
    CHECK(half.err == whole.err);
  }
}

TEST_CASE("a half that was copied alone says what it lacks", "[program]") {
  const Folder folder;
  std::filesystem::copy_file(RACKSIDE_PROGRAM, folder / "rackside");
  const Run alone = run_program(folder / "rackside", {"serve"});
  CHECK(alone.status == 70);
  CHECK(contains(alone.err, "rackside-all"));
  CHECK(contains(alone.err, "Keep both files in one folder"));
}

TEST_CASE("a mistyped command is told with the nearest one, also below another", "[program]") {
  const Run verb = run_rackside({"todya"});
  CHECK(verb.status == 2);
  CHECK(contains(verb.err, "Did you mean `rackside today`?"));
  const Run below = run_rackside({"label", "plces"});
  CHECK(below.status == 2);
  CHECK(contains(below.err, "Did you mean `rackside label places`?"));
  const Run far = run_rackside({"xyzzy"});
  CHECK(far.status == 2);
  CHECK_FALSE(contains(far.err, "Did you mean"));
  CHECK(contains(run_rackside({"today", "--wrong"}).err, "--wrong"));
}
