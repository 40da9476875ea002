#include <algorithm>
#include <map>
#include <string>

#include "labels/read/read.h"
#include "tests/photos/damage.h"
#include "tests/photos/set.h"
#include "tests/support/catch.h"
#include "tests/unit/labels_support.h"

using namespace rackside;
using namespace rackside::labels;
using namespace rackside::tests;

namespace {

/// Not one of the seeds that are tuned on or reported.
constexpr std::uint32_t kTestSeed = 31;

struct Tally {
  int labels = 0;
  int read = 0;
};

const Category& category_of(std::string_view name) {
  const auto& all = photo_categories();
  return *std::find_if(all.begin(), all.end(), [&](const Category& one) { return one.name == name; });
}

/// Reads some photos of a category; every code that comes out must be on a label there.
Tally read_some(std::string_view category, int photos) {
  Tally tally;
  for (int number = 0; number < photos; ++number) {
    const Shot shot = make_photo(kTestSeed, category_of(category), number);
    const PictureReading reading = read_image(core::as_bytes(shot.jpeg), "the photo");
    std::multimap<std::string, bool> there;
    for (const Shot::Truth& label : shot.labels) there.emplace(label.payload, false);
    tally.labels += static_cast<int>(shot.labels.size());
    for (const ReadSymbol& symbol : reading.symbols) {
      CAPTURE(category, number, symbol.text);
      const auto found = there.find(symbol.text);
      REQUIRE(found != there.end());
      there.erase(found);
      ++tally.read;
    }
  }
  return tally;
}

}  // namespace

TEST_CASE("hard photos of every category are read, and none wrongly", "[labels][slow]") {
  // The least of each is a little under what was measured; the whole set is measured by tests/photos/run.
  const struct {
    const char* category;
    int photos;
    double least;  ///< part of the labels
  } rows[] = {{"motion", 5, 0.75},        {"defocus", 5, 0.75},    {"perspective", 4, 0.9}, {"rotation", 3, 0.95},
              {"low light", 4, 0.8},      {"glare", 4, 0.85},      {"damage", 8, 0.75},     {"small modules", 4, 0.9},
              {"curved and wet", 4, 0.9}, {"JPEG 40-60", 4, 0.95}, {"mixed", 5, 0.75},      {"racks of 4-12", 3, 0.95},
              {"racks of 13-40", 1, 0.95}};
  Tally all;
  for (const auto& row : rows) {
    const Tally tally = read_some(row.category, row.photos);
    CAPTURE(row.category, tally.read, tally.labels);
    CHECK(tally.read >= row.least * tally.labels);
    all.labels += tally.labels;
    all.read += tally.read;
  }
  CAPTURE(all.read, all.labels);
  CHECK(all.read >= 0.94 * all.labels);
}

TEST_CASE("the made-up damage knows where a symbol's codewords lie", "[labels]") {
  // Source: ISO/IEC 18004: a version 1 symbol has 26 codewords of 8 modules each, the first of them in the lower right
  // corner, going up; version 2 has 44 and 7 modules that remain over.
  const Symbol one = make_symbol("T7K2M9QX4A");
  REQUIRE(one.version == 1);
  const auto owner = codeword_of_modules(one);
  for (int codeword = 0; codeword < 26; ++codeword) CHECK(std::count(owner.begin(), owner.end(), codeword) == 8);
  for (int row = 17; row < 21; ++row) {
    CHECK(owner[static_cast<std::size_t>(row * 21 + 20)] == 0);
    CHECK(owner[static_cast<std::size_t>(row * 21 + 19)] == 0);
  }
  CHECK(correction_of(one).correctable == 8);
  std::vector<char> wrong(owner.size(), 0);
  for (std::size_t i = 0; i < owner.size(); ++i) wrong[i] = owner[i] >= 0 && owner[i] < 3;
  CHECK(harm_of(one, wrong).worst_block == 3);
  CHECK(harm_of(one, wrong).finder == 0);
}

TEST_CASE("a made-up photo depends on its seed, category and number only", "[labels]") {
  const Category& category = category_of("damage");
  CHECK(make_photo(kTestSeed, category, 1).jpeg == make_photo(kTestSeed, category, 1).jpeg);
  CHECK(make_photo(kTestSeed, category, 1).jpeg != make_photo(kTestSeed, category, 2).jpeg);
  CHECK(make_photo(kTestSeed, category, 1).jpeg != make_photo(kTestSeed + 1, category, 1).jpeg);
}
