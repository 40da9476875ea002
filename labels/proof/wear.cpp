#include "labels/proof/wear.h"

#include <algorithm>
#include <cmath>
#include <set>

namespace rackside::labels {
namespace {

constexpr int kFull = 256;

/// The darker of a pixel and its neighbours, mixed in by `part` of 256. Whole numbers, so that compilers vectorise it.
void darken_row(const std::uint8_t* above, const std::uint8_t* row, const std::uint8_t* below, std::uint8_t* target,
                int width, int part) {
  for (int x = 1; x + 1 < width; ++x) {
    const int darkest = std::min({row[x - 1], row[x], row[x + 1], above[x], below[x]});
    target[x] = static_cast<std::uint8_t>(row[x] - (((row[x] - darkest) * part + kFull / 2) >> 8));
  }
}

/// One step of at most a pixel, to the four sides. The outermost pixels stay: they are beyond the quiet zone.
GrayImage grown_by_one(const GrayImage& picture, double part) {
  GrayImage out = picture;
  const int parts = static_cast<int>(std::lround(part * kFull));
  for (int y = 1; y + 1 < picture.height; ++y) {
    const std::uint8_t* row = picture.pixels.data() + picture.index(0, y);
    darken_row(row - picture.width, row, row + picture.width, out.pixels.data() + out.index(0, y), picture.width,
               parts);
  }
  return out;
}

double restored_share(CorrectionLevel level) {
  switch (level) {
    case CorrectionLevel::low:
      return 0.07;
    case CorrectionLevel::medium:
      return 0.15;
    case CorrectionLevel::quartile:
      return 0.25;
    case CorrectionLevel::high:
      return 0.30;
  }
  return 0;
}

}  // namespace

GrayImage grown(const GrayImage& picture, double pixels) {
  GrayImage out = picture;
  for (; pixels > 0; pixels -= 1) out = grown_by_one(out, std::min(1.0, pixels));
  return out;
}

std::vector<std::pair<int, int>> smeared_modules(const Symbol& symbol) {
  const std::vector<int> codewords = codeword_map(symbol);
  const int all = *std::max_element(codewords.begin(), codewords.end()) + 1;
  const auto most = static_cast<std::size_t>(std::max(1.0, std::floor(all * restored_share(symbol.level) / 2)));
  std::vector<std::pair<int, int>> smeared;
  std::set<int> hit;
  const int middle = symbol.size / 2;
  for (int column = symbol.size - 1; column >= 0; --column) {
    for (const int row : {middle, middle + 1}) {
      const int codeword = codewords[static_cast<std::size_t>(row * symbol.size + column)];
      if (codeword < 0) continue;
      if (hit.size() == most && !hit.contains(codeword)) return smeared;
      hit.insert(codeword);
      smeared.emplace_back(column, row);
    }
  }
  return smeared;
}

}  // namespace rackside::labels
