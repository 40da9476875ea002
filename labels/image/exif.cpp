#include "labels/image/exif.h"

#include <algorithm>
#include <array>
#include <utility>

namespace rackside::labels {
namespace {

constexpr std::uint32_t kOrientationTag = 0x0112;
constexpr std::size_t kEntryBytes = 12;

/// Numbers of a TIFF structure, in its own byte order. Reading past the end gives 0.
struct Tiff {
  core::ByteSpan bytes;
  bool big_endian;

  std::uint32_t number(std::size_t at, std::size_t size) const {
    if (at > bytes.size() || bytes.size() - at < size) return 0;
    std::uint32_t value = 0;
    for (std::size_t i = 0; i < size; ++i) value = value << 8 | bytes[at + (big_endian ? i : size - 1 - i)];
    return value;
  }
};

int orientation_in(const Tiff& tiff) {
  const std::size_t directory = tiff.number(4, 4);
  const std::size_t entries = tiff.number(directory, 2);
  for (std::size_t i = 0; i < entries; ++i) {
    const std::size_t entry = directory + 2 + i * kEntryBytes;
    if (entry + kEntryBytes > tiff.bytes.size()) break;
    if (tiff.number(entry, 2) != kOrientationTag) continue;
    const auto value = static_cast<int>(tiff.number(entry + 8, 2));
    return value >= 1 && value <= 8 ? value : 1;
  }
  return 1;
}

}  // namespace

int exif_orientation(core::ByteSpan segment) {
  constexpr std::array<std::uint8_t, 6> kHead = {'E', 'x', 'i', 'f', 0, 0};
  if (segment.size() < kHead.size() + 8 || !std::equal(kHead.begin(), kHead.end(), segment.begin())) return 1;
  const core::ByteSpan tiff = segment.subspan(kHead.size());
  if (tiff[0] == 'M' && tiff[1] == 'M') return orientation_in({tiff, true});
  return tiff[0] == 'I' && tiff[1] == 'I' ? orientation_in({tiff, false}) : 1;
}

GrayImage upright(GrayImage stored, int orientation) {
  if (orientation <= 1 || orientation > 8) return stored;
  // 5..8 swap rows and columns; the first stored row or column is then found at the right or the bottom.
  const bool swapped = orientation >= 5;
  const bool from_right = orientation == 2 || orientation == 3 || orientation == 6 || orientation == 7;
  const bool from_bottom = orientation == 3 || orientation == 4 || orientation == 7 || orientation == 8;
  GrayImage seen(swapped ? stored.height : stored.width, swapped ? stored.width : stored.height);
  for (int y = 0; y < seen.height; ++y) {
    for (int x = 0; x < seen.width; ++x) {
      const int u = from_right ? seen.width - 1 - x : x;
      const int v = from_bottom ? seen.height - 1 - y : y;
      seen.at(x, y) = swapped ? stored.at(v, u) : stored.at(u, v);
    }
  }
  return seen;
}

}  // namespace rackside::labels
