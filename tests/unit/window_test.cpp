// Windows: Student's t against a handbook's table, the update against its own arithmetic, and calibration.
#include <cmath>
#include <iostream>
#include <random>

#include "core/husbandry/window.h"
#include "tests/support/catch.h"

using namespace rackside::core;

TEST_CASE("Student's t has the critical values of the handbooks") {
  // NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, critical values of Student's t, three decimals (from
  // memory; the closed forms for 1 and 2 degrees below check them independently).
  struct Row {
    double degrees, at90, at95, at975, at99;
  };
  for (const Row& row : {Row{1, 3.078, 6.314, 12.706, 31.821}, Row{2, 1.886, 2.920, 4.303, 6.965},
                         Row{5, 1.476, 2.015, 2.571, 3.365}, Row{10, 1.372, 1.812, 2.228, 2.764},
                         Row{30, 1.310, 1.697, 2.042, 2.457}, Row{100, 1.290, 1.660, 1.984, 2.364}}) {
    CHECK(std::abs(student_quantile(0.90, row.degrees) - row.at90) < 6e-4);
    CHECK(std::abs(student_quantile(0.95, row.degrees) - row.at95) < 6e-4);
    CHECK(std::abs(student_quantile(0.975, row.degrees) - row.at975) < 6e-4);
    CHECK(std::abs(student_quantile(0.99, row.degrees) - row.at99) < 6e-4);
    CHECK(std::abs(student_quantile(0.10, row.degrees) + row.at90) < 6e-4);
  }
  for (double chance : {0.01, 0.2, 0.5, 0.77, 0.999}) {
    const double cauchy = std::tan(M_PI * (chance - 0.5));
    CHECK(std::abs(student_quantile(chance, 1) - cauchy) < 1e-8 * std::max(1.0, std::abs(cauchy)));
    const double two = (2 * chance - 1) / std::sqrt(2 * chance * (1 - chance));
    CHECK(std::abs(student_quantile(chance, 2) - two) < 1e-8 * std::max(1.0, std::abs(two)));
  }
}

TEST_CASE("the rule of thumb alone gives about its own range") {
  // Corn snake, laying to hatching, 55 to 62 days: common practice, no source.
  const Window window = window_of({55, 62}, {}, 0.8);
  CHECK(window.first >= 55);
  CHECK(window.last <= 62);
  CHECK(window.own == 0);
  CHECK(window.likeliest == 58.5);
  const Window wide = window_of({55, 62}, {}, 0.95);
  CHECK(wide.first < window.first);
  CHECK(wide.last > window.last);
}

TEST_CASE("own intervals move the window, and many outweigh the rule") {
  const RuleOfThumb rule{55, 62};
  const std::vector<double> two{66, 68};
  const std::vector<double> twenty(20, 67);
  CHECK(window_of(rule, two).likeliest == (3 * 58.5 + 2 * 67) / 5);  // three rules' worth and two own
  CHECK(window_of(rule, twenty).first > 62);
  const std::vector<double> steady(20, 58);
  CHECK(window_of(rule, steady).last - window_of(rule, steady).first <
        window_of(rule, {}).last - window_of(rule, {}).first);
}

TEST_CASE("windows of 80 % hold 80 % of the days, before and after learning") {
  constexpr unsigned kSeed = 19;
  std::cout << "seed " << kSeed << "\n";
  std::mt19937 random(kSeed);
  const RuleOfThumb rule{52, 66};
  const Belief belief = belief_of(rule);
  for (std::size_t seen : {0U, 1U, 3U, 10U, 40U}) {
    unsigned inside = 0;
    constexpr unsigned kKeepers = 20000;
    for (unsigned keeper = 0; keeper < kKeepers; ++keeper) {
      // A keeper's own room, drawn from what the rule believes of rooms.
      std::gamma_distribution<double> precision(belief.shape, 1 / belief.scale);
      const double spread = 1 / std::sqrt(precision(random));
      std::normal_distribution<double> rooms(belief.mean, spread / std::sqrt(belief.worth));
      std::normal_distribution<double> days(rooms(random), spread);
      std::vector<double> own;
      for (std::size_t i = 0; i < seen; ++i) own.push_back(std::round(days(random)));
      const Window window = window_of(rule, own);
      const double next = std::round(days(random));
      inside += next >= window.first && next <= window.last;
    }
    const double share = static_cast<double>(inside) / kKeepers;
    std::cout << "after " << seen << " of the keeper's own: " << share << "\n";
    CHECK(share >= 0.76);
    CHECK(share <= 0.84);
  }
}
