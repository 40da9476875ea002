// Many made-up collections, each from one number. What must hold of any of them: see verdict.h.
#include <cstdlib>
#include <iostream>
#include <sstream>

#include "tests/simulation/generator.h"
#include "tests/simulation/verdict.h"
#include "tests/support/catch.h"

using namespace rackside::simulation;

namespace {

std::uint64_t number_from(const char* variable, std::uint64_t otherwise) {
  const char* given = std::getenv(variable);
  return given ? std::strtoull(given, nullptr, 10) : otherwise;
}

std::string joined(const std::vector<std::string>& lines) {
  std::string out;
  for (const std::string& line : lines) out += "  " + line + "\n";
  return out;
}

}  // namespace

TEST_CASE("after healing all books agree, and every acknowledged event is there once", "[simulation]") {
  const std::uint64_t first = number_from("RACKSIDE_SEED", 1);
  const std::uint64_t seeds = number_from("RACKSIDE_SEEDS", 20);
  std::cout << "simulated collections, seeds " << first << " to " << first + seeds - 1 << std::endl;
  std::size_t events = 0;
  double device_days = 0;
  for (std::uint64_t seed = first; seed < first + seeds; ++seed) {
    const Script script = generate(seed, {});
    const Outcome outcome = run(script);
    events += outcome.events;
    device_days += outcome.device_days;
    INFO("seed " << seed << "; the script:\n" << to_text(script));
    REQUIRE(joined(outcome.trouble) == "");
  }
  std::cout << "  " << events << " acknowledged events, " << static_cast<long>(device_days) << " device-days"
            << std::endl;
}
