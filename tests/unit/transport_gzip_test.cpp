// The gzip coding, against the gzip program (GNU gzip, RFC 1952 and 1951) both ways, and against hostile input.
#include <random>

#include "core/base/bytes.h"
#include "core/base/error.h"
#include "sync/coding/gzip.h"
#include "sync/http/head.h"
#include "tests/support/catch.h"
#include "tests/support/program.h"

using namespace rackside;
using namespace rackside::sync;
using namespace rackside::tests;
using coding::GzipReader;
using coding::GzipWriter;

namespace {

constexpr std::size_t kMost = 64 * 1024 * 1024;

/// Lines of a log: what is really sent.
std::string lines(std::size_t count) {
  std::mt19937_64 random(7);
  std::string out;
  for (std::size_t i = 0; i < count; ++i) {
    out += R"({"v":1,"kind":"fed","of":["A)" + std::to_string(random() % 100'000'000) + R"("],"wall":)" +
           std::to_string(1'790'000'000'000 + i * 1000 + random() % 1000) + "}\n";
  }
  return out;
}

std::string noise(std::size_t size) {
  std::mt19937_64 random(8);
  std::string out(size, '\0');
  for (char& c : out) c = static_cast<char>(random());
  return out;
}

core::Fault fault_of(const std::function<void()>& work) {
  try {
    work();
  } catch (const core::Error& error) {
    return error.fault();
  }
  return core::Fault::internal;
}

}  // namespace

TEST_CASE("what is written comes back the same, in whatever pieces", "[transport][gzip]") {
  for (const std::string& text :
       {std::string(), std::string("x"), lines(20'000), noise(300'000), std::string(9'000'000, 'a'),
        lines(3000) + std::string(3'000'000, ' ') + noise(100'000) + lines(3000)}) {
    for (const std::size_t piece : {std::size_t{1} << 30, std::size_t{100'000}, std::size_t{977}}) {
      GzipWriter writer;
      std::string packed;
      for (std::size_t at = 0; at < text.size(); at += piece)
        writer.take(std::string_view(text).substr(at, piece), packed);
      writer.finish(packed);
      GzipReader reader(text.size());
      std::string back;
      for (std::size_t at = 0; at < packed.size(); at += piece)
        reader.take(std::string_view(packed).substr(at, piece), [&](std::string_view some) { back += some; });
      reader.finish();
      CHECK((back == text));
    }
  }
}

TEST_CASE("the gzip program reads what is written, and what it writes is read", "[transport][gzip]") {
  const Folder folder;
  for (const std::string& text : {lines(5000), std::string(2'000'000, 'a'), noise(100'000)}) {
    write_text(folder / "ours.gz", coding::gzip(text));
    CHECK((run_program("gzip", {"-dc", folder / "ours.gz"}).out == text));
    write_text(folder / "theirs", text);
    for (const char* level : {"-1", "-9"}) {
      const std::string theirs = run_program("gzip", {"-nc", level, folder / "theirs"}).out;
      // Two million times one letter is what no events are: 1000 times smaller.
      if (text.size() < 1'000'000) CHECK((coding::gunzip(theirs, kMost) == text));
    }
  }
  // `printf hello | gzip -n9`, so that reading does not rest on writing.
  const auto known = core::array_from_hex<25>("1f8b0800000000000203cb48cdc9c9070086a6103605000000");
  REQUIRE(known);
  CHECK(coding::gunzip({reinterpret_cast<const char*>(known->data()), known->size()}, 5) == "hello");
}

TEST_CASE("events shrink to a quarter at least", "[transport][gzip]") {
  const std::string text = lines(5000);
  CHECK(coding::gzip(text).size() * 4 < text.size());
}

TEST_CASE("a body cut at any byte is told as cut, and gives a true beginning", "[transport][gzip]") {
  const std::string text = lines(400);
  const std::string packed = coding::gzip(text);
  for (std::size_t size = 0; size < packed.size(); ++size) {
    GzipReader reader;
    std::string back;
    CHECK(fault_of([&] {
            reader.take(std::string_view(packed).substr(0, size), [&](std::string_view some) { back += some; });
            reader.finish();
          }) == core::Fault::protocol);
    CHECK(text.starts_with(back));
  }
}

TEST_CASE("a body changed at any byte never reads as another", "[transport][gzip]") {
  const std::string text = lines(40);
  const std::string packed = coding::gzip(text);
  for (std::size_t at = 0; at < packed.size(); ++at) {
    for (const char flip : {'\x01', '\x80', '\xff'}) {
      std::string changed = packed;
      changed[at] = static_cast<char>(changed[at] ^ flip);
      std::string back;
      const core::Fault fault = fault_of([&] { back = coding::gunzip(changed, kMost); });
      // The time, the system and some flags in the head say nothing about the text, nor do the bits that fill a byte.
      CHECK((fault == core::Fault::protocol || fault == core::Fault::too_large || back == text));
    }
  }
}

TEST_CASE("what is no gzip, or goes on behind its end, is refused", "[transport][gzip]") {
  const std::string packed = coding::gzip("hello");
  for (const std::string& bytes :
       {std::string("hello, this is no gzip"), packed + "x", packed + packed, std::string("\x78\x9c"), noise(1000)})
    CHECK(fault_of([&] { coding::gunzip(bytes, kMost); }) == core::Fault::protocol);
}

TEST_CASE("a bomb is told as such before it fills the memory", "[transport][gzip]") {
  // 100 MB of zeros as the gzip program writes them: about 97 KB.
  const Folder folder;
  write_text(folder / "zeros", std::string(100'000'000, '\0'));
  const std::string bomb = run_program("gzip", {"-9nc", folder / "zeros"}).out;
  REQUIRE(bomb.size() < 110'000);
  std::size_t most_held = 0;
  CHECK(fault_of([&] {
          GzipReader reader;
          reader.take(bomb, [&](std::string_view piece) { most_held += piece.size(); });
        }) == core::Fault::too_large);
  CHECK(most_held <= coding::kFreeInflation + coding::kMostInflation * bomb.size());
  CHECK(most_held < 25'000'000);
  // A limit of the size holds below that.
  std::size_t held = 0;
  CHECK(fault_of([&] {
          GzipReader reader(50'000);
          reader.take(bomb, [&](std::string_view piece) { held += piece.size(); });
        }) == core::Fault::too_large);
  CHECK(held <= 50'000);
}

TEST_CASE("a list of codings is read as RFC 9110 writes it", "[transport][gzip]") {
  for (const char* list :
       {"gzip", "GZIP", "gzip, deflate, br", "br;q=1.0, gzip;q=0.8", "deflate,gzip;q=0.001", " gzip ;q=1"})
    CHECK(coding::takes_gzip(list));
  for (const char* list : {"", "identity", "br, zstd", "gzip;q=0", "gzip; q=0.000", "x-gzip", "gzipped", "gzip;q=0, *"})
    CHECK_FALSE(coding::takes_gzip(list));
}
