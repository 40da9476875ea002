// How much an ordinary season asks the keeper: the budget is one question in a hundred events.
#include <cstdlib>
#include <iomanip>
#include <iostream>
#include <sstream>

#include "tests/simulation/player.h"
#include "tests/simulation/season.h"
#include "tests/simulation/verdict.h"
#include "tests/support/catch.h"

using namespace rackside::simulation;

namespace {

constexpr double kMostPerHundred = 1.0;
constexpr std::uint64_t kSeasons = 3;

}  // namespace

TEST_CASE("an ordinary season asks at most one question in a hundred events", "[simulation][season]") {
  if (std::getenv("RACKSIDE_SCRIPT")) return;
  QuestionRate all;
  for (std::uint64_t seed = 1; seed <= kSeasons; ++seed) {
    Player player(ordinary_season(seed));
    const std::size_t registered = player.fleet().acknowledged().size();
    player.play(ordinary_season(seed).actions);
    player.fleet().heal();
    std::ostringstream trouble;
    for (const std::string& line : judge(player.fleet())) trouble << line << "\n";
    CHECK(trouble.str() == "");
    Machine& hub = player.fleet().machines().front();
    const QuestionRate one = questions_of(*hub.book, player.fleet().acknowledged().size() - registered);
    all.events += one.events;
    for (const auto& [rule, count] : one.by_rule) all.by_rule[rule] += count;
  }
  std::cout << "ordinary seasons: " << all.events << " events, " << all.questions() << " questions, " << std::fixed
            << std::setprecision(2) << all.per_hundred() << " in a hundred\n";
  for (const auto& [rule, count] : all.by_rule)
    std::cout << "  " << rule << ": " << 100.0 * static_cast<double>(count) / static_cast<double>(all.events) << "\n";
  CHECK(all.per_hundred() <= kMostPerHundred);
}
