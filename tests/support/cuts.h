#pragma once

#include <cstddef>
#include <string>
#include <vector>

namespace rackside::tests {

/// Where the first `end` bytes of something are cut, ascending, each at least `begin` and below `end`: at every byte
/// when RACKSIDE_FULL is set in the environment; else close to each of the `edges`, and at `more` places that differ
/// from run to run (the seed is printed; RACKSIDE_SEED repeats one).
std::vector<std::size_t> cuts(std::size_t begin, std::size_t end, const std::vector<std::size_t>& edges,
                              std::size_t more);

/// Where the lines of a text begin: its edges.
std::vector<std::size_t> line_starts(const std::string& text);

}  // namespace rackside::tests
