#pragma once

#include <vector>

#include "labels/symbol/symbol.h"

namespace rackside::tests {

/// How many codewords a block of `symbol` can have wrong and still be read.
/// Shape:  versions 1 to 4.
/// Source: ISO/IEC 18004, table of error correction characteristics.
struct Correction {
  int blocks = 1;
  int codewords = 26;   ///< in all
  int correctable = 0;  ///< wrong codewords a block
};
Correction correction_of(const labels::Symbol& symbol);

/// The codeword each module belongs to, -1 for those of patterns and formats. Written from the standard's rules of
/// placement, apart from what encodes and decodes.
/// Source: ISO/IEC 18004, codeword placement: columns in pairs from the right, upwards first, column 6 left out.
std::vector<int> codeword_of_modules(const labels::Symbol& symbol);

struct Harm {
  int worst_block = 0;  ///< wrong codewords in the block that has most
  int finder = 0;       ///< wrong modules in the finder pattern that has most
};
/// What is harmed when these modules (1: wrong) are read the other way.
Harm harm_of(const labels::Symbol& symbol, const std::vector<char>& wrong);

}  // namespace rackside::tests
