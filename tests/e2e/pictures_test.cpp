#include <filesystem>
#include <fstream>
#include <sstream>
#include <thread>

#include "cli/photos/message.h"
#include "cli/photos/worker.h"
#include "core/base/error.h"
#include "tests/support/catch.h"
#include "tests/support/png_by_hand.h"
#include "tests/support/program.h"

using namespace rackside;
using namespace rackside::tests;
using core::Fault;

namespace {

/// A rack of six tubs, three with an animal, and a photo of all its labels.
struct Room {
  Folder folder;
  std::string book = folder / "room.book";
  std::string photos = folder / "photos";

  Room() {
    must({"init", "Ottoline"});
    must({"rack", "add", "A", "--places", "6"});
    for (const std::string number : {"1", "2", "3"}) must({"animal", "add", "C-" + number, "--at", "A-0" + number});
    std::filesystem::create_directory(photos);
    must({"demo", "photo", "A-01", "A-02", "A-03", "A-04", "--out", photos + "/good.jpg"});
  }
  Run run(std::vector<std::string> arguments) const {
    arguments.insert(arguments.begin(), {"--book", book});
    return run_rackside(arguments);
  }
  Run must(std::vector<std::string> arguments) const {
    const Run done = run(std::move(arguments));
    INFO(done.err << done.out);
    REQUIRE(done.status == 0);
    return done;
  }
  void put(const std::string& name, const std::string& bytes) const { write_text(photos + "/" + name, bytes); }
  std::string good() const { return read_text(photos + "/good.jpg"); }
};

std::size_t lines_with(const std::string& text, const std::string& part) {
  std::istringstream lines(text);
  std::size_t count = 0;
  for (std::string line; std::getline(lines, line);) count += contains(line, part) ? 1 : 0;
  return count;
}

}  // namespace

TEST_CASE("hostile pictures of a batch are told in a line each, and the others are read") {
  const Room room;
  const std::string good = room.good();
  room.put("cut.jpg", good.substr(0, good.size() / 2));
  room.put("huge.png", png_file(60'000, 60'000, 8, 0, zlib_zeros(10)));
  room.put("tall.png", png_file(1, 60'000, 8, 0, zlib_stored(std::string(120'000, '\0'))));
  room.put("heic.jpg", std::string("\0\0\0\x18", 4) + "ftypheic" + std::string(200, 'x'));
  room.put("pdf.png", "%PDF-1.7\n" + std::string(200, 'x'));
  room.put("empty.jpg", "");
  std::string texts;
  for (int i = 0; i < 20; ++i) texts += png_chunk("zTXt", std::string("Comment\0\0", 9) + zlib_zeros(2'000'000));
  room.put("bomb.png", png_file(100, 100, 8, 0, zlib_stored(std::string(10'100, '\0')), texts));
  room.put("other.txt", "not looked at");
  const Run done = room.run({"read", room.photos});
  CAPTURE(done.out, done.err);
  CHECK(done.status == core::fault_info(Fault::unreadable_image).exit_status);
  for (const char* name : {"A-01", "A-02", "A-03", "A-04"}) CHECK(contains(done.out, name));
  for (const char* name : {"cut.jpg", "huge.png", "heic.jpg", "pdf.png", "empty.jpg"})
    CHECK(lines_with(done.err, name) == 1);
  CHECK(contains(done.err, "60000 x 60000"));
  CHECK(contains(done.err, "HEIC"));
  CHECK(contains(done.err, "it is a PDF"));
  CHECK_FALSE(contains(done.out + done.err, "other.txt"));
}

TEST_CASE("what a picture does to the reading process is that picture's outcome only") {
  const Room room;
  cli::PictureWorker worker(labels::ReadScope::codes, RACKSIDE_PROGRAM);
  const cli::PictureOutcome first = worker.read_file(room.photos + "/good.jpg");
  REQUIRE(first.reading.has_value());
  CHECK(first.reading->symbols.size() == 4);
  const cli::PictureOutcome missing = worker.read_file(room.photos + "/no\nsuch.jpg");
  CHECK(missing.fault == Fault::bad_input);
  const cli::PictureOutcome uploaded = worker.read_bytes(room.good(), "the upload");
  REQUIRE(uploaded.reading.has_value());
  CHECK(uploaded.reading->symbols.size() == 4);
  // A reader that ends at once stands for one that a picture killed.
  cli::PictureWorker broken(labels::ReadScope::codes, "/bin/false");
  const cli::PictureOutcome killed = broken.read_bytes(room.good(), "the upload");
  CHECK(killed.fault == Fault::unreadable_image);
  CHECK(contains(killed.message, "the upload"));
  CHECK_THROWS_AS(cli::PictureWorker(labels::ReadScope::codes, "/nowhere/at/all").read_file("x"), core::Error);
}

TEST_CASE("an outcome passes from process to process unchanged, and its codes are judged anew") {
  labels::PictureReading reading{640, 480, {}, 3, {}};
  reading.symbols.push_back({"T7K2M9QX4A", {{{1, 2}, {3, 4}, {5, 6}, {7, 8.5}}}, {}});
  reading.unread.push_back({{{{9, 8}, {7, 6}, {5, 4}, {3, 2}}}, labels::Unread::glare});
  const cli::PictureOutcome back = cli::outcome_of(cli::to_line({reading, Fault::internal, "said"}));
  REQUIRE(back.reading.has_value());
  CHECK(back.message == "said");
  CHECK(back.reading->width == 640);
  CHECK(back.reading->foreign == 3);
  REQUIRE(back.reading->symbols.size() == 1);
  CHECK(back.reading->symbols[0].corners[3].y == 8.5);
  CHECK_FALSE(back.reading->symbols[0].reading.code.has_value());
  REQUIRE(back.reading->unread.size() == 1);
  CHECK(back.reading->unread[0].why == labels::Unread::glare);
  CHECK_THROWS_AS(cli::outcome_of("{}"), core::Error);
}

TEST_CASE("a film of a walk gives each code once with its time, and a stock-take") {
  const Room room;
  // Three stations: tubs 1 and 2, then 3 with the card of C-2 (which lives at A-02), then 4.
  const auto station = [&](int number, std::vector<std::string> what) {
    std::vector<std::string> arguments = {"demo", "photo"};
    arguments.insert(arguments.end(), what.begin(), what.end());
    const std::string file = room.folder / ("station" + std::to_string(number) + ".jpg");
    arguments.insert(arguments.end(), {"--out", file, "--columns", "2", "--seed", std::to_string(number)});
    room.must(arguments);
    return file;
  };
  station(1, {"A-01", "C-1"});
  station(2, {"A-03", "C-2"});
  station(3, {"A-04", "A-05"});
  const std::string film = room.folder / "walk.mp4";
  const Run made = run_program(
      "ffmpeg", {"-v", "error", "-framerate", "1", "-start_number", "1", "-i", room.folder / "station%d.jpg", "-vf",
                 "scale=1280:960,fps=10", "-pix_fmt", "yuv420p", "-c:v", "mpeg4", "-q:v", "4", film});
  INFO(made.err);
  REQUIRE(made.status == 0);
  const Run look = room.must({"scan", "--video", film});
  CAPTURE(look.out, look.err);
  CHECK(lines_with(look.out, "place A-01") == 1);
  CHECK(lines_with(look.out, "0:00.0") >= 2);
  CHECK(contains(look.out, "C-2 is misplaced: its card hangs at A-03, the book has it at A-02"));
  CHECK(contains(look.out, "C-3 is missing: the book has it at A-03"));
  CHECK(contains(look.out, "places not seen: A-02, A-06"));
  const Run json = room.must({"--json", "scan", "--video", film});
  CHECK(contains(json.out, "\"misplaced\":[{\"animal\""));
  // Nothing was recorded by looking; with an entry every code gets it.
  CHECK_FALSE(contains(room.must({"history", "C-1"}).out, "ate"));
  CHECK(room.run({"scan", "--video", film, "--entry", "fed mouse"}).status == 0);
  CHECK(contains(room.must({"history", "C-1"}).out, "mouse"));
}

TEST_CASE("films that cannot be read say why") {
  const Room room;
  const std::string film = room.folder / "film.mp4";
  CHECK(contains(room.run({"scan", "--video", film}).err, "There is no film"));
  write_text(film, "no film at all");
  const Run bad = room.run({"scan", "--video", film});
  CHECK(bad.status == core::fault_info(Fault::unreadable_image).exit_status);
  CHECK(contains(bad.err, "is no film"));
  const Run without =
      run_program("env", {"PATH=/nowhere", RACKSIDE_PROGRAM, "--book", room.book, "scan", "--video", film});
  CHECK(without.status == core::fault_info(Fault::unreachable).exit_status);
  CHECK(contains(without.err, "apt-get install ffmpeg"));
}
