#pragma once

#include "tests/simulation/fleet.h"

namespace rackside::simulation {

/// What is wrong with a collection after everybody has exchanged everything; empty when nothing is:
/// all digests equal; the reference fold agrees; every acknowledged event held exactly once; no event that nobody
/// tried to write; every open question explained by live events.
std::vector<std::string> judge(Fleet& fleet);

/// One whole run of a script, from the founding to the verdict.
struct Outcome {
  std::vector<std::string> trouble;
  std::size_t events = 0;
  double device_days = 0;
  std::vector<std::string> log;                ///< what the hub holds besides the founding, for people
  std::map<std::string, std::size_t> matters;  ///< by rule: how many verdicts there were at the end
};
Outcome run(const Script& script);

}  // namespace rackside::simulation
