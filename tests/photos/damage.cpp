#include "tests/photos/damage.h"

#include <algorithm>
#include <cstdlib>
#include <set>

#include "core/base/error.h"

namespace rackside::tests {
namespace {

/// Rows: version 1 to 4; columns: level L, M, Q, H; {blocks, check codewords a block}.
constexpr int kChecks[4][4][2] = {{{1, 7}, {1, 10}, {1, 13}, {1, 17}},
                                  {{1, 10}, {1, 16}, {1, 22}, {1, 28}},
                                  {{1, 15}, {1, 26}, {2, 18}, {2, 22}},
                                  {{1, 20}, {2, 18}, {2, 26}, {4, 16}}};
constexpr int kCodewords[4] = {26, 44, 70, 100};

bool is_function(const labels::Symbol& symbol, int column, int row) {
  const int far = symbol.size - 8;
  if (column < 9 && row < 9) return true;
  if (column >= far && row < 9) return true;
  if (column < 9 && row >= far) return true;
  if (column == 6 || row == 6) return true;
  const int alignment = symbol.size - 7;
  return symbol.version > 1 && std::abs(column - alignment) <= 2 && std::abs(row - alignment) <= 2;
}

}  // namespace

Correction correction_of(const labels::Symbol& symbol) {
  if (symbol.version < 1 || symbol.version > 4) throw core::Error(core::Fault::internal, "Versions 1 to 4 only.");
  const auto& row = kChecks[symbol.version - 1][static_cast<int>(symbol.level)];
  return {row[0], kCodewords[symbol.version - 1], row[1] / 2};
}

std::vector<int> codeword_of_modules(const labels::Symbol& symbol) {
  std::vector<int> owner(symbol.modules.size(), -1);
  const int codewords = correction_of(symbol).codewords;
  int bit = 0;
  bool upwards = true;
  for (int right = symbol.size - 1; right > 0; right -= 2) {
    if (right == 6) --right;
    for (int step = 0; step < symbol.size; ++step) {
      const int row = upwards ? symbol.size - 1 - step : step;
      for (const int column : {right, right - 1}) {
        if (is_function(symbol, column, row)) continue;
        if (bit / 8 < codewords) owner[static_cast<std::size_t>(row * symbol.size + column)] = bit / 8;
        ++bit;
      }
    }
    upwards = !upwards;
  }
  return owner;
}

Harm harm_of(const labels::Symbol& symbol, const std::vector<char>& wrong) {
  const std::vector<int> owner = codeword_of_modules(symbol);
  const Correction correction = correction_of(symbol);
  std::vector<std::set<int>> blocks(static_cast<std::size_t>(correction.blocks));
  int finders[3] = {0, 0, 0};
  for (int row = 0; row < symbol.size; ++row) {
    for (int column = 0; column < symbol.size; ++column) {
      const auto at = static_cast<std::size_t>(row * symbol.size + column);
      if (!wrong[at]) continue;
      // Blocks of equal length are dealt out codeword by codeword.
      if (owner[at] >= 0) blocks[static_cast<std::size_t>(owner[at] % correction.blocks)].insert(owner[at]);
      const bool left = column < 7;
      const bool top = row < 7;
      const bool right = column >= symbol.size - 7;
      const bool bottom = row >= symbol.size - 7;
      if (left && top) ++finders[0];
      if (right && top) ++finders[1];
      if (left && bottom) ++finders[2];
    }
  }
  Harm harm;
  for (const auto& block : blocks) harm.worst_block = std::max(harm.worst_block, static_cast<int>(block.size()));
  harm.finder = *std::max_element(std::begin(finders), std::end(finders));
  return harm;
}

}  // namespace rackside::tests
