// How the reader measures a symbol: finder patterns, patches, grids and the equalizer, each on symbols drawn here.
#include <algorithm>
#include <array>
#include <cmath>
#include <random>
#include <string>
#include <vector>

#include "labels/read/equalize.h"
#include "labels/read/finders.h"
#include "labels/read/grid.h"
#include "labels/read/pattern.h"
#include "labels/symbol/symbol.h"
#include "tests/support/catch.h"

using namespace rackside;
using namespace rackside::labels;

namespace {

constexpr int kModule = 4;  ///< pixels
constexpr int kSize = 21;

/// Version 1 symbols side by side on light ground, the first at (20, 20), one every 150 pixels.
GrayImage symbols_in_row(int count) {
  GrayImage image(150 * count, 130);
  std::fill(image.pixels.begin(), image.pixels.end(), std::uint8_t{230});
  const Symbol symbol = make_symbol("T2A07X1P58");
  for (int i = 0; i < count; ++i) {
    for (int y = 0; y < kSize * kModule; ++y) {
      for (int x = 0; x < kSize * kModule; ++x)
        image.at(20 + 150 * i + x, 20 + y) = symbol.dark(x / kModule, y / kModule) ? 25 : 230;
    }
  }
  return image;
}

Corners square_at(double left, double top, double side) {
  return {PixelPoint{left, top}, {left + side, top}, {left + side, top + side}, {left, top + side}};
}

/// As a symbol drawn by symbols_in_row lies in its picture, a pixel's middle being a whole number.
Projection of_symbol(int i) {
  return {0, kSize, square_at(20 + 150 * i - 0.5, 19.5, kSize * kModule)};
}

GrayImage blurred(const GrayImage& image, int reach) {
  GrayImage out = image;
  for (int y = reach; y < image.height - reach; ++y) {
    for (int x = reach; x < image.width - reach; ++x) {
      int sum = 0;
      for (int dy = -reach; dy <= reach; ++dy) {
        for (int dx = -reach; dx <= reach; ++dx) sum += image.at(x + dx, y + dy);
      }
      out.at(x, y) = static_cast<std::uint8_t>(sum / ((2 * reach + 1) * (2 * reach + 1)));
    }
  }
  return out;
}

int wrong_modules(const std::vector<float>& levels) {
  const Symbol symbol = make_symbol("T2A07X1P58");
  int wrong = 0;
  for (int row = 0; row < kSize; ++row) {
    for (int column = 0; column < kSize; ++column)
      wrong += (levels[static_cast<std::size_t>(row * kSize + column)] < 0) != symbol.dark(column, row) ? 1 : 0;
  }
  return wrong;
}

}  // namespace

TEST_CASE("a symbol's three finder patterns are found where they are", "[labels]") {
  const std::vector<FinderPattern> patterns = find_finder_patterns(symbols_in_row(1), 2, {});
  // ISO/IEC 18004: 7 modules a side, in three corners. Data may by chance look like a fourth.
  for (const PixelPoint expected : {PixelPoint{33.5, 33.5}, {89.5, 33.5}, {33.5, 89.5}}) {
    CHECK(std::any_of(patterns.begin(), patterns.end(), [&](const FinderPattern& pattern) {
      return std::hypot(pattern.center.x - expected.x, pattern.center.y - expected.y) < 0.5 &&
             std::abs(std::sqrt(pattern.shape.area()) - kModule) < 0.4;
    }));
  }
}

TEST_CASE("nothing is looked for inside symbols that are known, and everything beside them", "[labels]") {
  const GrayImage image = symbols_in_row(3);
  // How many patterns are seen of each of the three.
  using Counts = std::array<std::size_t, 3>;
  const auto counts = [&](const std::vector<Corners>& known) {
    Counts found{};
    for (const FinderPattern& pattern : find_finder_patterns(image, 2, known))
      ++found.at(static_cast<std::size_t>(pattern.center.x) / 150);
    return found;
  };
  const std::size_t all = counts({})[0];
  REQUIRE(all >= 3);
  REQUIRE(counts({}) == Counts{all, all, all});
  const auto symbol = [](int i) { return square_at(20 + 150 * i, 20, kSize * kModule); };
  CHECK(counts({symbol(1)}) == Counts{all, 0, all});
  CHECK(counts({symbol(2), symbol(0)}) == Counts{0, all, 0});
  // Turned on its tip, and reaching out of the picture on every side.
  CHECK(counts({{PixelPoint{62, -60}, {182, 62}, {62, 182}, {-60, 62}}}) == Counts{0, all, all});
  CHECK(counts({square_at(-1e4, -1e4, 2e4)}) == Counts{});
  CHECK(counts({square_at(5000, 20, 80)}) == Counts{all, all, all});
}

TEST_CASE("many places are projected as each alone, into a smaller copy too", "[labels]") {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> shake(-200, 200);
  for (int round = 0; round < 50; ++round) {
    Corners corners = square_at(1500, 900, 900);
    for (PixelPoint& corner : corners) corner = {corner.x + shake(random), corner.y + shake(random)};
    const Projection projection(3.5, 17.5, corners);
    std::vector<float> u, v;
    for (int i = 0; i < 21; ++i) {
      u.push_back(static_cast<float>(i));
      v.push_back(static_cast<float>(20 - i / 2));
    }
    std::vector<float> x(u.size()), y(u.size());
    projection.to_copy(4).map(u, v, x, y);
    for (std::size_t i = 0; i < u.size(); ++i) {
      const PixelPoint alone = projection(u[i], v[i]);
      // The middle of pixel p of a picture is p; four of its pixels are one of the copy's.
      CHECK(std::abs(x[i] - ((alone.x + 0.5) / 4 - 0.5)) < 0.01);
      CHECK(std::abs(y[i] - ((alone.y + 0.5) / 4 - 0.5)) < 0.01);
    }
    for (std::size_t i = 0; i < 4; ++i) {
      const PixelPoint at = projection(i == 1 || i == 2 ? 17.5 : 3.5, i >= 2 ? 17.5 : 3.5);
      CHECK(std::hypot(at.x - corners[i].x, at.y - corners[i].y) < 1e-6);
    }
  }
}

TEST_CASE("a symbol that reaches over the edge of a picture is cut out with what there is", "[labels]") {
  // Long enough that a float no longer tells a pixel from a thousandth less: what lies beside the last must not be
  // read.
  GrayImage tall(100, 40'000, 200);
  std::fill(tall.pixels.end() - 100, tall.pixels.end(), std::uint8_t{50});
  const Projection over_its_end(0, kSize, {PixelPoint{10, 39'910}, {94, 39'910}, {94, 39'994}, {10, 39'994}});
  const Patch patch = cut_patch(tall, over_its_end, kSize);
  CHECK(int{patch.image.at(patch.side / 2, patch.side - 1)} <= 51);
  CHECK(patch.image.at(patch.side / 2, 0) == 200);

  const GrayImage image = symbols_in_row(1);
  for (const double away : {-40.0, 60.0, 400.0}) {
    Patch beyond = cut_patch(image, Projection(0, kSize, square_at(away, away, kSize * kModule)), kSize);
    level_patch(beyond, Leveling::means);
    for (const float level : beyond.level) CHECK(std::abs(level) <= 1.3F);
  }
}

TEST_CASE("a grid goes where the symbol is", "[labels]") {
  const GrayImage image = symbols_in_row(1);
  Patch good = cut_patch(image, of_symbol(0), kSize);
  level_patch(good, Leveling::extremes);
  CHECK(fit_of_known(good, {}) > 0.95);
  CHECK(wrong_modules(sampled(good, {})) == 0);

  // The fourth corner guessed more than a module wrong.
  Corners guessed = square_at(19.5, 19.5, kSize * kModule);
  guessed[2] = {guessed[2].x + 0.9 * kModule, guessed[2].y + 0.9 * kModule};
  Patch patch = cut_patch(image, Projection(0, kSize, guessed), kSize);
  level_patch(patch, Leveling::extremes);
  REQUIRE(wrong_modules(sampled(patch, {})) > 10);
  const Grid found = with_fourth_corner(patch);
  CHECK(wrong_modules(sampled(patch, found)) == 0);

  // All of it half a module to the right.
  Patch shifted =
      cut_patch(image, Projection(0, kSize, square_at(19.5 + 0.55 * kModule, 19.5, kSize * kModule)), kSize);
  level_patch(shifted, Leveling::extremes);
  REQUIRE(wrong_modules(sampled(shifted, {})) > 10);
  const Grid moved = refined(shifted, {});
  CHECK(wrong_modules(sampled(shifted, moved)) == 0);
  CHECK(fit_of_known(shifted, moved) > 0.9);
}

TEST_CASE("the equalizer takes blur back", "[labels]") {
  Patch patch = cut_patch(blurred(blurred(symbols_in_row(1), 3), 2), of_symbol(0), kSize);
  level_patch(patch, Leveling::extremes);
  const int before = wrong_modules(sampled(patch, {}));
  REQUIRE(before > 30);
  Equalizer equalizer(patch, {});
  const int first = wrong_modules(equalizer.first_round(1.5F));
  equalizer.next_round();
  const int third = wrong_modules(equalizer.next_round());
  CAPTURE(before, first, third);
  CHECK(first < before / 2);
  CHECK(third <= first);
  // A ridge without end holds it to what does nothing.
  const std::vector<float>& held = equalizer.first_round(1e7F);
  const std::vector<float> plain = sampled(patch, {});
  for (std::size_t i = 0; i < plain.size(); ++i) CHECK(std::abs(held[i] - plain[i]) < 0.01);
}
