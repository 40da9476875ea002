#include <string>
#include <utility>
#include <vector>

#include "labels/read/decoder.h"
#include "labels/symbol/symbol.h"
#include "tests/support/catch.h"
#include "tests/unit/labels_support.h"

using namespace rackside;
using namespace rackside::labels;
using rackside::tests::contains;
using rackside::tests::error_of;

namespace {

/// A symbol's text without any library of ours: 4 pixels a module and the quiet zone, read by the decoder.
std::string decoded(const Symbol& symbol) {
  constexpr int kPixels = 4;
  GrayImage image(symbol.size_with_quiet() * kPixels, symbol.size_with_quiet() * kPixels);
  for (int y = 0; y < symbol.size * kPixels; ++y) {
    for (int x = 0; x < symbol.size * kPixels; ++x) {
      if (symbol.dark(x / kPixels, y / kPixels)) image.at(x + kQuietModules * kPixels, y + kQuietModules * kPixels) = 0;
    }
  }
  const auto found = decode_symbols(GrayView(image), Effort::plain);
  return found.size() == 1 ? found[0].text : "";
}

/// The format information along row 8 and column 8, unmasked: 2 bits of level, 3 bits of mask, 10 of correction.
/// Source: ISO/IEC 18004, format information; mask 101010000010010.
int format_bits(const Symbol& symbol) {
  const std::pair<int, int> places[] = {{0, 8}, {1, 8}, {2, 8}, {3, 8}, {4, 8}, {5, 8}, {7, 8}, {8, 8},
                                        {8, 7}, {8, 5}, {8, 4}, {8, 3}, {8, 2}, {8, 1}, {8, 0}};
  int bits = 0;
  for (const auto& [column, row] : places) bits = bits << 1 | (symbol.dark(column, row) ? 1 : 0);
  return bits ^ 0b101010000010010;
}

bool masked(int mask, int i, int j) {
  switch (mask) {
    case 0:
      return (i + j) % 2 == 0;
    case 1:
      return i % 2 == 0;
    case 2:
      return j % 3 == 0;
    case 3:
      return (i + j) % 3 == 0;
    case 4:
      return (i / 2 + j / 3) % 2 == 0;
    case 5:
      return (i * j) % 2 + (i * j) % 3 == 0;
    case 6:
      return ((i * j) % 2 + (i * j) % 3) % 2 == 0;
    default:
      return ((i + j) % 2 + (i * j) % 3) % 2 == 0;
  }
}

/// The codewords of a version 1 symbol in the order of placement. Source: ISO/IEC 18004, symbol character placement:
/// columns of two modules from the right, upwards and downwards in turn, leaving out the timing column.
std::vector<int> codewords_of_version_1(const Symbol& symbol) {
  const int mask = format_bits(symbol) >> 10 & 7;
  const auto is_function = [](int column, int row) {
    return row == 6 || column == 6 || (row < 9 && column < 9) || (row < 9 && column > 12) || (row > 12 && column < 9);
  };
  std::vector<int> words;
  int bits = 0;
  int word = 0;
  bool upwards = true;
  for (int right = 20; right > 0; right -= 2, upwards = !upwards) {
    if (right == 6) right = 5;
    for (int step = 0; step < 21; ++step) {
      const int row = upwards ? 20 - step : step;
      for (const int column : {right, right - 1}) {
        if (is_function(column, row)) continue;
        word = word << 1 | (symbol.dark(column, row) != masked(mask, row, column) ? 1 : 0);
        if (++bits % 8 == 0) words.push_back(std::exchange(word, 0));
      }
    }
  }
  return words;
}

}  // namespace

TEST_CASE("the smallest symbol at level M is taken, then the strongest level that it still holds", "[labels]") {
  // Source: ISO/IEC 18004, capacity of alphanumeric mode: 1-H 10, 1-Q 16, 1-M 20, 2-Q 29, 2-M 38, 3-Q 47, 3-M 61.
  const struct {
    int characters;
    int version;
    CorrectionLevel level;
  } rows[] = {{10, 1, CorrectionLevel::high},   {11, 1, CorrectionLevel::quartile}, {16, 1, CorrectionLevel::quartile},
              {17, 1, CorrectionLevel::medium}, {20, 1, CorrectionLevel::medium},   {29, 2, CorrectionLevel::quartile},
              {30, 2, CorrectionLevel::medium}, {38, 2, CorrectionLevel::medium},   {47, 3, CorrectionLevel::quartile},
              {48, 3, CorrectionLevel::medium}, {61, 3, CorrectionLevel::medium}};
  for (const auto& row : rows) {
    const Symbol symbol = make_symbol(std::string(static_cast<std::size_t>(row.characters), 'A'));
    CAPTURE(row.characters, symbol.version, letter_of(symbol.level));
    CHECK(symbol.version == row.version);
    CHECK(symbol.level == row.level);
    CHECK(symbol.size == 17 + 4 * symbol.version);
  }
}

TEST_CASE("a code of ten characters is a version 1 symbol at level H, as its own format information says", "[labels]") {
  for (int i = 0; i < 200; ++i) {
    const core::Code code = tests::some_code(core::CodeKind::animal);
    const Symbol symbol = make_symbol(code.text());
    REQUIRE(symbol.version == 1);
    REQUIRE(symbol.level == CorrectionLevel::high);
    // Source: ISO/IEC 18004, error correction level indicators: L 01, M 00, Q 11, H 10.
    REQUIRE(format_bits(symbol) >> 13 == 0b10);
    REQUIRE(decoded(symbol) == code.text());
  }
}

TEST_CASE("the worked example of the standard gives its codewords", "[labels]") {
  // Source: ISO/IEC 18004, worked example "01234567" as 1-M: 16 data codewords, then 10 of error correction.
  const Symbol symbol = make_symbol("01234567");
  CHECK(symbol.version == 1);
  // Our rule raises the level where there is room (8 digits fit 1-H too): the data before the padding are alike.
  const std::vector<int> words = codewords_of_version_1(symbol);
  REQUIRE(words.size() == 26);
  CHECK(std::vector<int>(words.begin(), words.begin() + 6) == std::vector<int>{0x10, 0x20, 0x0C, 0x56, 0x61, 0x80});
  const Symbol at_medium = make_symbol_at("01234567", CorrectionLevel::medium);
  CHECK(at_medium.version == 1);
  CHECK(codewords_of_version_1(at_medium) == std::vector<int>{0x10, 0x20, 0x0C, 0x56, 0x61, 0x80, 0xEC, 0x11, 0xEC,
                                                              0x11, 0xEC, 0x11, 0xEC, 0x11, 0xEC, 0x11, 0xA5, 0x24,
                                                              0xD4, 0xC1, 0xED, 0x36, 0xC7, 0x87, 0x2C, 0x55});
}

TEST_CASE("every module that is no pattern belongs to a codeword, eight to each", "[labels]") {
  // Source: ISO/IEC 18004, codewords and remainder bits of versions 1 to 3: 26 and 0, 44 and 7, 70 and 7.
  const struct {
    std::size_t characters;
    int codewords;
    int remainder;
  } rows[] = {{10, 26, 0}, {38, 44, 7}, {61, 70, 7}};
  for (const auto& row : rows) {
    const Symbol symbol = make_symbol(std::string(row.characters, 'A'));
    CAPTURE(symbol.version);
    std::vector<int> count(static_cast<std::size_t>(row.codewords) + 1, 0);
    for (const int codeword : codeword_map(symbol)) {
      REQUIRE(codeword <= row.codewords);
      if (codeword >= 0) ++count[static_cast<std::size_t>(codeword)];
    }
    CHECK(count.back() == row.remainder);
    count.pop_back();
    CHECK(std::all_of(count.begin(), count.end(), [](int modules) { return modules == 8; }));
  }
}

TEST_CASE("a link stays in alphanumeric mode and names the code last", "[labels]") {
  const core::Code code = tests::some_code(core::CodeKind::place);
  const std::string link = link_text("rack-7f3k.local:8443", code.text());
  CHECK(link == "HTTPS://RACK-7F3K.LOCAL:8443/" + code.str());
  // 39 characters: 3-Q holds 47, 2-M only 38.
  const Symbol symbol = make_symbol(link);
  CHECK(symbol.version == 3);
  CHECK(symbol.level == CorrectionLevel::quartile);
  CHECK(decoded(symbol) == link);
}

TEST_CASE("texts that no symbol or link can have are refused with the reason", "[labels]") {
  CHECK(error_of([] { make_symbol(""); }).fault() == core::Fault::bad_input);
  const core::Error too_long = error_of([] { make_symbol(std::string(2400, 'a')); });
  CHECK(too_long.fault() == core::Fault::bad_input);
  CHECK(contains(too_long.what(), "2331"));
  for (const char* host : {"", "a b", "høst", "a/b", "a?b"}) {
    CAPTURE(host);
    CHECK(error_of([&] { link_text(host, "X"); }).fault() == core::Fault::bad_input);
  }
}

TEST_CASE("lower case and other scripts are coded as bytes and read back", "[labels]") {
  const std::string longest(2331, 'x');  // 40-M in byte mode
  for (const std::string& text : {std::string("hello, world"), std::string("größe 3"), longest}) {
    CHECK(make_symbol(text).size > 0);
    if (text.size() < 100) CHECK(decoded(make_symbol(text)) == text);
  }
}
