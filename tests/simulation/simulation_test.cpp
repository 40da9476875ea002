// Many made-up collections, each from one number. What must hold of any of them: see verdict.h.
//   RACKSIDE_SEED=N RACKSIDE_SEEDS=COUNT   which ones
//   RACKSIDE_SOAK_MINUTES=M                goes on with fresh seeds
//   RACKSIDE_SCRIPT=FILE                   plays one script, as a failure prints it
//   RACKSIDE_TRIALS=N                      how long a failing script is made smaller; 0: not at all
#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <fstream>
#include <iostream>
#include <iterator>
#include <random>
#include <sstream>

#include "tests/simulation/generator.h"
#include "tests/simulation/minimise.h"
#include "tests/simulation/reference/fold.h"
#include "tests/simulation/verdict.h"
#include "tests/support/catch.h"

using namespace rackside::simulation;

namespace {

constexpr std::uint64_t kSeeds = 300;
constexpr int kMostTrials = 3000;  ///< of the minimiser; some minutes at worst

std::uint64_t number_from(const char* variable, std::uint64_t otherwise) {
  const char* given = std::getenv(variable);
  return given ? std::strtoull(given, nullptr, 10) : otherwise;
}

std::string joined(const std::vector<std::string>& lines) {
  std::string out;
  for (const std::string& line : lines) out += "  " + line + "\n";
  return out;
}

/// Four of five seeds know disasters: each sort alone, so that little hides little, and all together.
Weather weather_of(std::uint64_t seed) {
  switch (seed % 5) {
    case 0:
      return {};
    case 1:
      return {.wrong_clocks = true};
    case 2:
      return {.forks = true};
    case 3:
      return {.disk_faults = true};
    default:
      return {.wrong_clocks = true, .forks = true, .disk_faults = true};
  }
}

struct Total {
  std::size_t seeds = 0;
  std::size_t events = 0;
  double device_days = 0;
  std::map<std::string, std::size_t> matters;
};

void check_seed(std::uint64_t seed, Total& total) {
  const Script script = generate(seed, weather_of(seed));
  const Outcome outcome = run(script);
  ++total.seeds;
  total.events += outcome.events;
  total.device_days += outcome.device_days;
  for (const auto& [rule, count] : outcome.matters) total.matters[rule] += count;
  if (outcome.trouble.empty()) return;
  const Script least = minimised(
      script, [](const Script& one) { return !run(one).trouble.empty(); }, kMostTrials);
  FAIL("RACKSIDE_SEED=" << seed << " RACKSIDE_SEEDS=1 repeats it. What is wrong:\n"
                        << joined(outcome.trouble) << "The least script that fails (write it to a file, then "
                        << "RACKSIDE_SCRIPT=FILE plays it):\n"
                        << to_text(least) << "# what is wrong with it:\n"
                        << joined(run(least).trouble));
}

void tell(const Total& total) {
  std::cout << "  " << total.seeds << " seeds, " << total.events << " acknowledged events, "
            << static_cast<long>(total.device_days) << " device-days; verdicts:";
  for (const auto& [rule, count] : total.matters) std::cout << " " << rule << " " << count;
  std::cout << std::endl;
}

}  // namespace

TEST_CASE("after healing all books agree with each other and with the reference", "[simulation]") {
  if (std::getenv("RACKSIDE_SCRIPT")) return;
  const std::uint64_t first = number_from("RACKSIDE_SEED", 1);
  const std::uint64_t seeds = number_from("RACKSIDE_SEEDS", kSeeds);
  std::cout << "simulated collections, seeds " << first << " to " << first + seeds - 1 << std::endl;
  Total total;
  for (std::uint64_t seed = first; seed < first + seeds; ++seed) {
    check_seed(seed, total);
    CHECK(total.seeds == seed - first + 1);
  }
  tell(total);
  if (seeds < kSeeds) return;
  for (const auto& rule : rackside::core::rule_table()) {
    INFO("no simulated collection comes to a verdict of rule " << rule.name << ": let the generator make some");
    CHECK(total.matters.contains(std::string(rule.name)));
  }
}

TEST_CASE("what the reference does not judge is said", "[simulation]") {
  const auto unknown = reference::Fold::unknown_rules();
  for (const std::string& rule : unknown)
    WARN("NOT COMPARED: the reference fold has no judge for rule " << rule << " (tests/simulation/reference)");
  CHECK(unknown.size() < rackside::core::rule_table().size());
}

TEST_CASE("fresh seeds for as long as asked", "[simulation][soak]") {
  const std::uint64_t minutes = number_from("RACKSIDE_SOAK_MINUTES", 0);
  if (minutes == 0 || std::getenv("RACKSIDE_SCRIPT")) return;
  const auto end = std::chrono::steady_clock::now() + std::chrono::minutes(minutes);
  const std::uint64_t first = number_from("RACKSIDE_SEED", std::random_device{}());
  std::cout << "soaking for " << minutes << " minutes, seeds from " << first << " on" << std::endl;
  Total total;
  for (std::uint64_t seed = first; std::chrono::steady_clock::now() < end; ++seed) {
    check_seed(seed, total);
    if (total.seeds % 500 == 0) tell(total);
  }
  tell(total);
  CHECK(total.seeds > 0);
}

TEST_CASE("a script that failed plays again", "[simulation][script]") {
  const char* path = std::getenv("RACKSIDE_SCRIPT");
  if (!path) return;
  std::ifstream file(path);
  REQUIRE(file.good());
  std::ostringstream text;
  text << file.rdbuf();
  const Outcome outcome = run(script_from_text(text.str()));
  for (const std::string& event : outcome.log) std::cout << event << "\n";
  REQUIRE(joined(outcome.trouble) == "");
}

TEST_CASE("a script reads back as it was written", "[simulation][script]") {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    const Script script = generate(seed, {.wrong_clocks = true, .forks = true, .disk_faults = true});
    CHECK(script_from_text(to_text(script)) == script);
  }
}

TEST_CASE("one seed decides all: a run repeats to the last event", "[simulation][script]") {
  for (std::uint64_t seed = 1; seed <= 15; ++seed) {
    const Script script = generate(seed, {.wrong_clocks = true, .forks = true, .disk_faults = true});
    const std::vector<std::string> once = run(script).log;
    const std::vector<std::string> again = run(script).log;
    std::vector<std::string> only_once;
    std::set_difference(once.begin(), once.end(), again.begin(), again.end(), std::back_inserter(only_once));
    INFO("seed " << seed);
    CHECK(joined(only_once) == "");
    CHECK(once.size() == again.size());
  }
}

TEST_CASE("the least script keeps what makes it fail and nothing else", "[simulation][script]") {
  Script script = generate(3, {});
  script.actions.insert(script.actions.begin() + static_cast<std::ptrdiff_t>(script.actions.size() / 2),
                        {.what = What::lose, .who = 1, .a = 7});
  const auto loses = [](const Script& one) {
    for (const Action& action : one.actions) {
      if (action.what == What::lose) return true;
    }
    return false;
  };
  const Script least = minimised(script, loses, kMostTrials);
  CHECK(least.actions == std::vector<Action>{{.what = What::lose, .who = 1}});
  CHECK(least.setup.devices.size() == 2);
}
