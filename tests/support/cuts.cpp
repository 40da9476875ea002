#include "tests/support/cuts.h"

#include <cstdlib>
#include <iostream>
#include <random>
#include <set>

namespace rackside::tests {
namespace {

unsigned seed() {
  const char* given = std::getenv("RACKSIDE_SEED");
  return given != nullptr ? static_cast<unsigned>(std::strtoul(given, nullptr, 10)) : std::random_device{}();
}

}  // namespace

std::vector<std::size_t> cuts(std::size_t begin, std::size_t end, const std::vector<std::size_t>& edges,
                              std::size_t more) {
  std::set<std::size_t> out;
  if (std::getenv("RACKSIDE_FULL") != nullptr) {
    for (std::size_t at = begin; at < end; ++at) out.insert(at);
    return {out.begin(), out.end()};
  }
  const auto add = [&](std::size_t at) {
    if (at >= begin && at < end) out.insert(at);
  };
  for (const std::size_t edge : edges) {
    add(edge);
    add(edge + 1);
    if (edge > 0) add(edge - 1);
  }
  const unsigned number = seed();
  std::cout << "cuts: seed " << number << " (RACKSIDE_SEED; RACKSIDE_FULL=1 cuts at every byte)" << std::endl;
  std::mt19937 random(number);
  for (std::size_t i = 0; i < more && begin < end; ++i) add(begin + random() % (end - begin));
  return {out.begin(), out.end()};
}

std::vector<std::size_t> line_starts(const std::string& text) {
  std::vector<std::size_t> out{0};
  for (std::size_t at = text.find('\n'); at != text.npos; at = text.find('\n', at + 1)) out.push_back(at + 1);
  return out;
}

}  // namespace rackside::tests
