#include "labels/read/grid.h"

#include <algorithm>
#include <cmath>

#include "labels/read/pattern.h"

namespace rackside::labels {
namespace {

constexpr double kDataWeight = 0.5;  ///< data modules should be clearly dark or clearly light, whichever they are
constexpr std::size_t kFourthCorner = 2;
constexpr double kFarthest = 3;  ///< modules that it is looked for
constexpr int kEveryOther = 2;   ///< a chessboard's modules do for a first look
constexpr PixelPoint kEightWays[] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {-1, -1}, {1, -1}, {-1, 1}};

/// The higher, the better the grid lies.
double merit(const Patch& patch, const Grid& grid, int every) {
  const KnownPattern& known = known_pattern(patch.size);
  double sum = 0;
  for (int row = 0; row < patch.size; ++row) {
    for (int column = row % every; column < patch.size; column += every) {
      const auto i = static_cast<std::size_t>(row * patch.size + column);
      const PixelPoint at = grid.at(column + 0.5, row + 0.5, patch.size);
      const double level = patch.at(at.x, at.y);
      sum += known.modules[i] != 0 ? known.modules[i] * level : kDataWeight * std::abs(level);
    }
  }
  return sum;
}

}  // namespace

PixelPoint Grid::at(double u, double v, int size) const {
  const double s = u / size;
  const double t = v / size;
  const double a = (1 - s) * (1 - t);
  const double b = s * (1 - t);
  const double c = s * t;
  const double d = (1 - s) * t;
  const double along = 4 * s * (1 - s);
  const double down = 4 * t * (1 - t);
  const auto& m = moves;
  return {u + a * m[0] + b * m[2] + c * m[4] + d * m[6] + along * m[8] + down * m[10],
          v + a * m[1] + b * m[3] + c * m[5] + d * m[7] + along * m[9] + down * m[11]};
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
  Grid grid;
  double best = merit(patch, grid, kEveryOther);
  for (const double step : {1.6, 0.8, 0.4}) {
    for (bool moved = true; moved;) {
      moved = false;
      for (const PixelPoint& way : kEightWays) {
        Grid next = grid;
        double& x = next.moves[2 * kFourthCorner];
        double& y = next.moves[2 * kFourthCorner + 1];
        x += step * way.x;
        y += step * way.y;
        if (std::abs(x) > kFarthest || std::abs(y) > kFarthest) continue;
        const double now = merit(patch, next, kEveryOther);
        if (now <= best) continue;
        best = now;
        grid = next;
        moved = true;
      }
    }
  }
  return grid;
}

Grid refined(const Patch& patch, Grid grid) {
  double best = merit(patch, grid, 1);
  for (const double step : {0.5, 0.25, 0.12}) {
    for (int round = 0; round < 2; ++round) {
      bool moved = false;
      for (double& move : grid.moves) {
        for (const double by : {step, -step}) {
          move += by;
          const double now = merit(patch, grid, 1);
          if (now > best) {
            best = now;
            moved = true;
            break;
          }
          move -= by;
        }
      }
      if (!moved) break;
    }
  }
  return grid;
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
