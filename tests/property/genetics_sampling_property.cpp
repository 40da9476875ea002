// Sampled chances of networks that elimination can solve too: the error they report must be true.
#include <cmath>
#include <iostream>
#include <random>

#include "core/genetics/sampling.h"
#include "tests/support/catch.h"

using namespace rackside::core::genetics;

namespace {

/// A grid of variables with three values, neighbours tied by random factors: loops everywhere.
Network grid(std::uint32_t side, std::mt19937& random) {
  Network out;
  for (std::uint32_t i = 0; i < side * side; ++i) out.add_variable(3);
  std::uniform_real_distribution<double> any(0.2, 1);
  const auto tie = [&](std::uint32_t a, std::uint32_t b) {
    const std::uint32_t over[] = {a, b};
    for (double& one : out.add_factor(over)) one = any(random);
  };
  for (std::uint32_t i = 0; i < side * side; ++i) {
    if (i % side + 1 < side) tie(i, i + 1);
    if (i + side < side * side) tie(i, i + side);
  }
  return out;
}

}  // namespace

TEST_CASE("sampled chances are as near to the exact ones as the error says") {
  int within_two = 0;
  int all = 0;
  double worst = 0;
  for (std::uint32_t seed = 1; seed <= 8; ++seed) {
    std::mt19937 random(seed);
    const Network network = grid(8, random);
    Elimination exact;
    REQUIRE(exact.plan(network));
    REQUIRE(exact.solve(network) == Elimination::Outcome::solved);
    const Sampled sampled = sample(network, std::vector<std::uint32_t>(network.sizes.size(), 0), 400);
    REQUIRE(sampled.found);
    for (std::uint32_t v = 0; v < network.sizes.size(); ++v) {
      double off = 0;
      for (std::uint32_t x = 0; x < 3; ++x) off = std::max(off, std::abs(sampled.chances[v][x] - exact.chances(v)[x]));
      within_two += off <= 2 * sampled.errors[v];
      worst = std::max(worst, off / sampled.errors[v]);
      ++all;
    }
  }
  std::cout << within_two << " of " << all << " within two standard errors, the worst " << worst << " off" << std::endl;
  // Errors from ten batches follow Student's distribution: about 92 of 100 lie within two, one value's of three is the
  // largest.
  CHECK(within_two >= all * 85 / 100);
  CHECK(worst < 8);
}
