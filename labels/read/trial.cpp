#include "labels/read/trial.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "labels/read/equalize.h"
#include "labels/read/pattern.h"
#include "labels/read/scale.h"

namespace rackside::labels {
namespace {

constexpr int kLeastSide = 100;       ///< of the smallest copy of a picture, pixels
constexpr double kSharpModule = 2.4;  ///< pixels: a patch is cut from the smallest copy that keeps so many a module
constexpr double kTooSmall = 2.0;     ///< pixels a module
constexpr float kTooDark = 20;        ///< of 255
constexpr float kMuchGlare = 0.12F;   ///< of the symbol's area
constexpr double kTooSlanted = 0.45;  ///< height by width: seen at 63 degrees from straight on
constexpr double kSharp = 0.45;
constexpr double kHopeless = 0.25;  ///< fit
constexpr double kHopelessPair = 0.42;
constexpr double kNoSymbol = 0.2;  ///< fit before anything was moved for a better one
constexpr double kNoSymbolPair = 0.35;
constexpr int kLargestVersion = 13;  ///< of what is looked at at all
constexpr double kFinder = 3.5;      ///< modules from a symbol's edge to its finder's middle

std::optional<std::string> decoded(const std::vector<float>& levels, int size) {
  std::vector<std::uint8_t> modules(levels.size());
  std::transform(levels.begin(), levels.end(), modules.begin(),
                 [](float level) { return static_cast<std::uint8_t>(level < 0 ? 1 : 0); });
  return decode_modules(modules, size);
}

Projection projection_of(const Candidate& candidate, int size) {
  return {kFinder, size - kFinder, {candidate.corner, candidate.right, candidate.far, candidate.below}};
}

/// Some modules of the finder patterns with their separators, and the timing patterns: alike in all versions.
struct Landmarks {
  std::vector<float> u;  ///< their middles, modules
  std::vector<float> v;
  std::vector<float> color;  ///< -1 dark, 1 light
  float colors = 0;          ///< their sum

  void add(int column, int row, int shade) {
    u.push_back(static_cast<float>(column) + 0.5F);
    v.push_back(static_cast<float>(row) + 0.5F);
    color.push_back(static_cast<float>(shade));
    colors += color.back();
  }
};

Landmarks landmarks_of(int size) {
  Landmarks marks;
  const int far = size - 9;
  const auto ring_color = [](int column, int row) {
    const int ring = std::max(std::abs(column), std::abs(row));
    return ring == 2 || ring == 4 ? 1 : -1;
  };
  for (int row = -4; row <= 4; ++row) {
    for (int column = -4; column <= 4; ++column) {
      if ((row + column) % 2 != 0) continue;
      const int color = ring_color(column, row);
      if (column >= -3 && row >= -3) marks.add(3 + column, 3 + row, color);
      if (column <= 3 && row >= -3) marks.add(size - 4 + column, 3 + row, color);
      if (column >= -3 && row <= 3) marks.add(3 + column, size - 4 + row, color);
    }
  }
  for (int i = 8; i <= far; ++i) {
    marks.add(i, 6, i % 2 == 0 ? -1 : 1);
    marks.add(6, i, i % 2 == 0 ? -1 : 1);
  }
  return marks;
}

const Landmarks& landmarks(int size) {
  static const auto kAll = [] {
    std::array<Landmarks, kLargestVersion> all;
    for (std::size_t i = 0; i < all.size(); ++i) all[i] = landmarks_of(kLeastSize + 4 * static_cast<int>(i));
    return all;
  }();
  return kAll[static_cast<std::size_t>(std::clamp((size - kLeastSize) / 4, 0, kLargestVersion - 1))];
}

std::size_t level_for(const Pyramid& pyramid, double module) {
  std::size_t level = 0;
  while (level + 1 < pyramid.count() && module / Pyramid::scale(level + 1) >= kSharpModule) ++level;
  return level;
}

}  // namespace

Pyramid::Pyramid(const GrayImage& picture) : picture_(picture) {
  while (std::min(level(count() - 1).width, level(count() - 1).height) >= 2 * kLeastSide)
    smaller_.push_back(halved(level(count() - 1)));
}

double first_sight(const Pyramid& pyramid, const Candidate& candidate, int size) {
  const std::size_t level = level_for(pyramid, candidate.module);
  const GrayImage& image = pyramid.level(level);
  const Landmarks& marks = landmarks(size);
  constexpr std::size_t kMostMarks = 256;
  static_assert(96 + 2 * (4 * kLargestVersion + 1) <= kMostMarks);  // of the finder patterns, and two timing patterns
  std::array<float, kMostMarks> x;
  std::array<float, kMostMarks> y;
  const std::size_t all = marks.u.size();
  projection_of(candidate, size).to_copy(Pyramid::scale(level)).map(marks.u, marks.v, {x.data(), all}, {y.data(), all});
  float sum = 0;
  float squares = 0;
  float matched = 0;
  for (std::size_t i = 0; i < all; ++i) {
    const float column = x[i] + 0.5F;
    const float row = y[i] + 0.5F;
    if (!(column >= 0 && row >= 0 && column < static_cast<float>(image.width) &&
          row < static_cast<float>(image.height)))
      return 0;
    const float light = image.at(static_cast<int>(column), static_cast<int>(row));
    sum += light;
    squares += light * light;
    matched += light * marks.color[i];
  }
  // Pearson's correlation of the picture with what should be there. The sums are whole numbers that a float holds;
  // their products are not.
  const auto count = static_cast<double>(all);
  const double light = sum;
  const double colors = marks.colors;
  const double spread = (squares - light * light / count) * (count - colors * colors / count);
  return spread < 1 ? 0 : (matched - light * colors / count) / std::sqrt(spread);
}

void settle(const Pyramid& pyramid, Candidate& candidate) {
  PixelPoint* const corners[3] = {&candidate.corner, &candidate.right, &candidate.below};
  const auto move = [&](std::size_t i, double x, double y) {
    corners[i]->x += x;
    corners[i]->y += y;
    // The plane goes along: the fourth moves with its neighbours, and against the corner.
    candidate.far.x += i == 0 ? -x : x;
    candidate.far.y += i == 0 ? -y : y;
  };
  constexpr PixelPoint kWays[] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {-1, -1}, {1, -1}, {-1, 1}};
  for (const double step : {2.0, 1.0, 0.5, 0.25}) {
    for (std::size_t i = 0; i < 3; ++i) {
      if (step > 1 && candidate.patterns[i] != Candidate::kNone) continue;
      for (const PixelPoint& way : kWays) {
        const double x = way.x * step * candidate.module;
        const double y = way.y * step * candidate.module;
        move(i, x, y);
        const double sight = first_sight(pyramid, candidate, candidate.size);
        if (sight > candidate.sight) {
          candidate.sight = sight;
        } else {
          move(i, -x, -y);
        }
      }
    }
  }
}

Trial::Trial(const Pyramid& pyramid, const Candidate& candidate)
    : candidate_(candidate), projection_(projection_of(candidate, candidate.size)) {
  const std::size_t level = level_for(pyramid, candidate_.module);
  patch_ = cut_patch(pyramid.level(level), projection_.to_copy(Pyramid::scale(level)), candidate.size);
  if (candidate.size > kMostSize) return;
  level_patch(patch_, Leveling::extremes);
  fit_ = fit_of_known(patch_, grid_);
}

Corners Trial::corners() const {
  Corners corners;
  const double far = candidate_.size;
  const PixelPoint ends[4] = {{0, 0}, {far, 0}, {far, far}, {0, far}};
  for (std::size_t i = 0; i < 4; ++i) {
    const PixelPoint at = grid_.at(ends[i].x, ends[i].y, candidate_.size);
    corners[i] = projection_(at.x, at.y);
  }
  return corners;
}

/// How clearly the modules of the timing patterns, which alternate, are told apart: 1 for a sharp picture.
double Trial::sharpness() const {
  double sum = 0;
  int count = 0;
  for (int i = 8; i < patch_.size - 8; ++i) {
    for (const bool along : {true, false}) {
      const PixelPoint at = grid_.at(along ? i + 0.5 : 6.5, along ? 6.5 : i + 0.5, patch_.size);
      sum += (i % 2 == 0 ? -1 : 1) * patch_.at(at.x, at.y);
      ++count;
    }
  }
  return sum / count;
}

Unread Trial::why_unread() const {
  const Corners at = corners();
  const auto side = [&](std::size_t i) {
    const PixelPoint& next = at[(i + 1) % 4];
    return std::hypot(next.x - at[i].x, next.y - at[i].y);
  };
  const double longest = std::max(side(0), side(1));
  const double area = std::abs((at[1].x - at[0].x) * (at[3].y - at[0].y) - (at[1].y - at[0].y) * (at[3].x - at[0].x));
  if (candidate_.module < kTooSmall) return Unread::too_small;
  if (patch_.contrast < kTooDark) return Unread::too_dark;
  if (patch_.washed_out > kMuchGlare) return Unread::glare;
  if (area < kTooSlanted * longest * longest) return Unread::too_slanted;
  return sharpness() < kSharp ? Unread::blurred : Unread::damaged;
}

bool Trial::is_none() const {
  return patch_.size <= kMostSize && fit_ < (candidate_.sees_all() ? kNoSymbol : kNoSymbolPair);
}

std::optional<std::string> Trial::read_grid() const {
  return decoded(sampled(patch_, grid_), patch_.size);
}

std::optional<std::string> Trial::read_equalized() const {
  Equalizer equalizer(patch_, grid_);
  for (const float ridge : {6.0F, 1.5F}) {
    if (auto text = decoded(equalizer.first_round(ridge), patch_.size)) return text;
    equalizer.next_round();
    if (auto text = decoded(equalizer.next_round(), patch_.size)) return text;
  }
  return std::nullopt;
}

std::optional<std::string> Trial::read_plainly() {
  if (patch_.size > kMostSize) return std::nullopt;
  if (auto text = read_grid()) return text;
  grid_ = with_fourth_corner(patch_);
  fit_ = fit_of_known(patch_, grid_);
  return read_grid();
}

std::optional<std::string> Trial::read_hard() {
  if (patch_.size <= kMostSize) {
    grid_ = refined(patch_, grid_);
    fit_ = fit_of_known(patch_, grid_);
    if (auto text = read_grid()) return text;
    if (fit_ < (candidate_.sees_all() ? kHopeless : kHopelessPair)) return std::nullopt;
    if (auto text = read_equalized()) return text;
    level_patch(patch_, Leveling::means);
    if (auto text = read_grid()) return text;
    if (auto text = read_equalized()) return text;
  }
  for (DecodedSymbol& symbol : decode_symbols(GrayView(patch_.image), Effort::plain)) return std::move(symbol.text);
  return std::nullopt;
}

}  // namespace rackside::labels
