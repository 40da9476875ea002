#include "labels/read/read.h"

#include <algorithm>
#include <cmath>

#include "labels/image/load.h"
#include "labels/read/binarize.h"
#include "labels/read/candidates.h"
#include "labels/read/scale.h"

namespace rackside::labels {
namespace {

constexpr std::size_t kMostPatterns = 600;  ///< a picture of more is no rack: the tiles must do
constexpr std::size_t kMostAttempts = 400;  ///< candidates decoded in one search
constexpr int kInkContrast = 8;             ///< of 255: noise on plain paper is no ink
constexpr double kTileOverlap = 0.2;        ///< of the picture's side: a label on the cut is whole in one of the tiles
constexpr std::size_t kEnlargeBelow = 1'500'000;  ///< pixels; larger pictures are sharp enough as they are

PixelPoint center_of(const Corners& corners) {
  PixelPoint center;
  for (const PixelPoint& corner : corners) {
    center.x += corner.x / 4;
    center.y += corner.y / 4;
  }
  return center;
}

double distance(const PixelPoint& a, const PixelPoint& b) {
  return std::hypot(a.x - b.x, a.y - b.y);
}

PixelPoint scaled(const PixelPoint& point, double factor) {
  return {point.x * factor, point.y * factor};
}

double side_of(const Corners& corners) {
  double around = 0;
  for (std::size_t i = 0; i < 4; ++i) around += distance(corners[i], corners[(i + 1) % 4]);
  return around / 4;
}

/// Two symbols cannot lie within half a side of each other: it is the same one, found twice.
bool same_place(const Corners& a, const Corners& b) {
  return distance(center_of(a), center_of(b)) < std::max(side_of(a), side_of(b)) / 2;
}

/// Collects what several looks at one picture find.
class Finder {
 public:
  explicit Finder(const GrayImage& picture) : picture_(picture) {}

  std::vector<DecodedSymbol> run() {
    for (const int window : {61, 31}) look_at_candidates(picture_, 1, window);
    if (picture_.pixels.size() < kEnlargeBelow) look_at_candidates(enlarged(picture_), 2, 91);
    look(GrayView(picture_), 0, 0, 1);
    look_at_tiles(picture_, 1);
    return std::move(found_);
  }

 private:
  /// The decoder tries only some combinations of finder patterns, so many labels in one view are lost to it. Here each
  /// likely triple is shown to it alone, upright and at a good size, which also undoes most of a slanting view.
  void look_at_candidates(const GrayImage& image, double scale, int window) {
    std::vector<FinderPattern> patterns = find_finder_patterns(dark_pixels(image, window, kInkContrast));
    std::erase_if(patterns, [&](const FinderPattern& pattern) { return is_known(pattern.center, scale); });
    if (patterns.size() > kMostPatterns) return;
    std::vector<char> used(patterns.size(), 0);
    std::size_t attempts = 0;
    for (const Candidate& candidate : candidates_of(patterns)) {
      if (used[candidate.corner] || used[candidate.right] || used[candidate.below]) continue;
      if (++attempts > kMostAttempts) return;
      const Upright upright = straighten(image, patterns, candidate);
      for (DecodedSymbol& symbol : decode_symbols(GrayView(upright.image), Effort::plain)) {
        for (PixelPoint& corner : symbol.corners) corner = scaled(upright.to_picture(corner), 1 / scale);
        add(std::move(symbol));
      }
      for (const std::size_t i : {candidate.corner, candidate.right, candidate.below}) {
        used[i] = is_known(patterns[i].center, scale);
      }
    }
  }

  bool is_known(const PixelPoint& point, double scale) const {
    return std::any_of(found_.begin(), found_.end(), [&](const DecodedSymbol& symbol) {
      return distance(scaled(point, 1 / scale), center_of(symbol.corners)) < side_of(symbol.corners) * 0.75;
    });
  }

  void look(const GrayView& view, double left, double top, double scale) {
    for (DecodedSymbol& symbol : decode_symbols(view, Effort::thorough)) {
      for (PixelPoint& corner : symbol.corners) corner = {(corner.x + left) / scale, (corner.y + top) / scale};
      add(std::move(symbol));
    }
  }

  void add(DecodedSymbol symbol) {
    const auto known = [&](const DecodedSymbol& other) { return same_place(symbol.corners, other.corners); };
    if (std::none_of(found_.begin(), found_.end(), known)) found_.push_back(std::move(symbol));
  }

  void look_at_tiles(const GrayImage& image, double scale) {
    const int width = static_cast<int>(image.width * (1 + kTileOverlap) / 2);
    const int height = static_cast<int>(image.height * (1 + kTileOverlap) / 2);
    for (const int top : {0, image.height - height}) {
      for (const int left : {0, image.width - width}) look(GrayView(image, left, top, width, height), left, top, scale);
    }
  }

  const GrayImage& picture_;
  std::vector<DecodedSymbol> found_;
};

/// Reading order: rows are told apart by half a symbol's height.
void sort_by_place(std::vector<ReadSymbol>& symbols) {
  const auto top = [](const ReadSymbol& s) { return center_of(s.corners).y; };
  const auto left = [](const ReadSymbol& s) { return center_of(s.corners).x; };
  std::sort(symbols.begin(), symbols.end(), [&](const auto& a, const auto& b) { return top(a) < top(b); });
  for (auto begin = symbols.begin(); begin != symbols.end();) {
    auto end = begin + 1;
    while (end != symbols.end() && top(*end) - top(*begin) < side_of(begin->corners) / 2) ++end;
    std::sort(begin, end, [&](const auto& a, const auto& b) { return left(a) < left(b); });
    begin = end;
  }
}

}  // namespace

PictureReading read_symbols(const GrayImage& picture, const ReadOptions& options) {
  PictureReading result{picture.width, picture.height, {}, 0};
  for (DecodedSymbol& decoded : Finder(picture).run()) {
    ReadSymbol symbol{std::move(decoded.text), decoded.corners, {}};
    symbol.reading = core::read_code(symbol.text);
    if (!symbol.reading.code) ++result.foreign;
    if (symbol.reading.code || options.scope == ReadScope::any) result.symbols.push_back(std::move(symbol));
  }
  sort_by_place(result.symbols);
  return result;
}

PictureReading read_image(core::ByteSpan bytes, const std::string& name, const ReadOptions& options) {
  return read_symbols(read_picture(bytes, name), options);
}

PictureReading read_image_file(const std::string& path, const ReadOptions& options) {
  const std::string bytes = load_picture_file(path);
  return read_image(core::as_bytes(bytes), path, options);
}

}  // namespace rackside::labels
