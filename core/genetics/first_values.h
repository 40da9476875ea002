#pragma once

#include <cstdint>
#include <vector>

#include "core/genetics/elimination.h"

namespace rackside::core::genetics {

/// Values of all variables that no factor forbids, near those wished for. Variables that most factors tie come first;
/// after each choice what has lost its support is ruled out (arc consistency, Mackworth 1977), and a choice after which
/// nothing is left of some variable is taken back. No longer search: false where that finds none. `values` holds the
/// wishes, and what was found.
/// Requires variables of at most 64 values.
bool find_first_values(const Network& network, std::vector<std::uint32_t>& values);

}  // namespace rackside::core::genetics
