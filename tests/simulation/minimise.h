#pragma once

#include <functional>

#include "tests/simulation/script.h"

namespace rackside::simulation {

/// The least script that still fails: leaves out halves, quarters … single actions while `fails` says so, then puts
/// smaller numbers. Runs `fails` at most `most` times. Requires that the given script fails.
Script minimised(Script script, const std::function<bool(const Script&)>& fails, int most);

}  // namespace rackside::simulation
