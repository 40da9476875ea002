#include "labels/read/grid.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "labels/read/pattern.h"

namespace rackside::labels {
namespace {

constexpr float kDataWeight = 0.5F;  ///< data modules should be clearly dark or clearly light, whichever they are
constexpr std::size_t kFourthCorner = 2;
constexpr double kFarthest = 3;  ///< modules that it is looked for
constexpr int kEveryOther = 2;   ///< a chessboard's modules do for a first look
constexpr PixelPoint kEightWays[] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {-1, -1}, {1, -1}, {-1, 1}};

/// What a place at (u, v) goes along with each of a grid's moves: its four corners, a row's middle, a column's middle.
std::array<double, 6> shares_of(double u, double v, int size) {
  const double s = u / size;
  const double t = v / size;
  return {(1 - s) * (1 - t), s * (1 - t), s * t, (1 - s) * t, 4 * s * (1 - s), 4 * t * (1 - t)};
}

/// A grid that is moved about for the best fit. Where a module lies is a sum of the grid's moves by shares that stay,
/// so that one move more costs a multiplication a module.
class GridSearch {
 public:
  GridSearch(const Patch& patch, Grid start, int every) : grid(start), patch_(patch) {
    const KnownPattern& known = known_pattern(patch.size);
    for (int row = 0; row < patch.size; ++row) {
      for (int column = row % every; column < patch.size; column += every) {
        const auto color = static_cast<float>(known.modules[static_cast<std::size_t>(row * patch.size + column)]);
        known_.push_back(color);
        data_.push_back(color == 0 ? kDataWeight : 0);
        const PixelPoint at = grid.at(column + 0.5, row + 0.5, patch.size);
        x_.push_back(static_cast<float>(Patch::pixel(at.x)));
        y_.push_back(static_cast<float>(Patch::pixel(at.y)));
        const std::array<double, 6> shares = shares_of(column + 0.5, row + 0.5, patch.size);
        for (std::size_t i = 0; i < shares.size(); ++i)
          shares_[i].push_back(static_cast<float>(shares[i] * kPatchScale));
      }
    }
    moved_x_ = x_;
    moved_y_ = y_;
    best_ = merit();
  }

  /// Moves what `which` says (a corner, or a middle) by so many modules where that makes the grid lie better.
  bool improve(std::size_t which, double dx, double dy) {
    const std::vector<float>& share = shares_[which];
    const auto far_x = static_cast<float>(dx);
    const auto far_y = static_cast<float>(dy);
    for (std::size_t i = 0; i < x_.size(); ++i) moved_x_[i] = x_[i] + share[i] * far_x;
    for (std::size_t i = 0; i < y_.size(); ++i) moved_y_[i] = y_[i] + share[i] * far_y;
    const float now = merit();
    if (now <= best_) return false;
    best_ = now;
    std::swap(x_, moved_x_);
    std::swap(y_, moved_y_);
    grid.moves[2 * which] += dx;
    grid.moves[2 * which + 1] += dy;
    return true;
  }

  Grid grid;

 private:
  /// The higher, the better the moved grid lies.
  float merit() const {
    float sum = 0;
    for (std::size_t i = 0; i < known_.size(); ++i) {
      const float level = patch_.at_pixel(moved_x_[i], moved_y_[i]);
      sum += known_[i] * level + data_[i] * std::abs(level);
    }
    return sum;
  }

  const Patch& patch_;
  std::vector<float> known_;  ///< what a module should be, 0 where that is not known
  std::vector<float> data_;   ///< how much it counts that one of the others is clear
  std::vector<float> x_;      ///< where they lie, pixels of the patch
  std::vector<float> y_;
  std::vector<float> moved_x_;
  std::vector<float> moved_y_;
  std::array<std::vector<float>, 6> shares_;
  float best_ = 0;
};

}  // namespace

PixelPoint Grid::at(double u, double v, int size) const {
  const std::array<double, 6> shares = shares_of(u, v, size);
  PixelPoint place{u, v};
  for (std::size_t i = 0; i < shares.size(); ++i) {
    place.x += shares[i] * moves[2 * i];
    place.y += shares[i] * moves[2 * i + 1];
  }
  return place;
}

double fit_of_known(const Patch& patch, const Grid& grid) {
  const KnownPattern& known = known_pattern(patch.size);
  double sum = 0;
  int count = 0;
  std::size_t i = 0;
  for (int row = 0; row < patch.size; ++row) {
    for (int column = 0; column < patch.size; ++column, ++i) {
      if (known.modules[i] == 0) continue;
      const PixelPoint at = grid.at(column + 0.5, row + 0.5, patch.size);
      sum += known.modules[i] * std::clamp(static_cast<double>(patch.at(at.x, at.y)), -1.0, 1.0);
      ++count;
    }
  }
  return sum / count;
}

Grid with_fourth_corner(const Patch& patch) {
  GridSearch search(patch, {}, kEveryOther);
  const double& x = search.grid.moves[2 * kFourthCorner];
  const double& y = search.grid.moves[2 * kFourthCorner + 1];
  for (const double step : {1.6, 0.8, 0.4}) {
    for (bool moved = true; moved;) {
      moved = false;
      for (const PixelPoint& way : kEightWays) {
        if (std::abs(x + step * way.x) > kFarthest || std::abs(y + step * way.y) > kFarthest) continue;
        moved = search.improve(kFourthCorner, step * way.x, step * way.y) || moved;
      }
    }
  }
  return search.grid;
}

Grid refined(const Patch& patch, const Grid& grid) {
  GridSearch search(patch, grid, 1);
  for (const double step : {0.5, 0.25, 0.12}) {
    for (int round = 0; round < 2; ++round) {
      bool moved = false;
      for (std::size_t which = 0; which < 6; ++which) {
        moved = search.improve(which, step, 0) || search.improve(which, -step, 0) || moved;
        moved = search.improve(which, 0, step) || search.improve(which, 0, -step) || moved;
      }
      if (!moved) break;
    }
  }
  return search.grid;
}

std::vector<float> sampled(const Patch& patch, const Grid& grid) {
  std::vector<float> levels;
  levels.reserve(static_cast<std::size_t>(patch.size * patch.size));
  for (int row = 0; row < patch.size; ++row) {
    for (int column = 0; column < patch.size; ++column) {
      const PixelPoint at = grid.at(column + 0.5, row + 0.5, patch.size);
      levels.push_back(patch.at(at.x, at.y));
    }
  }
  return levels;
}

}  // namespace rackside::labels
