#include "labels/read/finders.h"

#include <array>
#include <cmath>
#include <optional>

namespace rackside::labels {
namespace {

using Runs = std::array<int, 5>;

int total(const Runs& runs) {
  return runs[0] + runs[1] + runs[2] + runs[3] + runs[4];
}

/// Wide tolerances: blur fattens or thins the dark, and a wrong candidate costs one failed decode.
bool looks_like_finder(const Runs& runs) {
  const double module = total(runs) / 7.0;
  if (module < 1) return false;
  const double slack = module * 0.55 + 0.5;
  for (const std::size_t i : {0U, 1U, 3U, 4U}) {
    if (std::abs(runs[i] - module) > slack) return false;
  }
  return std::abs(runs[2] - 3 * module) < 1.2 * module + 0.5;
}

struct Crossing {
  double center;
  double module;
};

/// Follows the column or row through a point outwards from the middle of the inner square.
class Line {
 public:
  Line(const GrayImage& dark, int x, int y, int step_x, int step_y)
      : dark_(dark), x_(x), y_(y), step_x_(step_x), step_y_(step_y) {}

  std::optional<Crossing> cross(int most) const {
    Runs runs{};
    int before = 0;
    int after = 1;
    if (!walk(-1, before, runs, 2, 0, most) || !walk(+1, after, runs, 2, 4, most)) return std::nullopt;
    if (!looks_like_finder(runs)) return std::nullopt;
    const double first_edge = before + 1 + runs[0] + runs[1];
    return Crossing{first_edge + runs[2] / 2.0 - 0.5, total(runs) / 7.0};
  }

 private:
  /// Adds to runs `from`, then on to `to`, walking in one direction; `at` ends behind the last run.
  bool walk(int direction, int& at, Runs& runs, std::size_t from, std::size_t to, int most) const {
    std::size_t run = from;
    int color = 1;
    while (true) {
      while (value(at) == color && runs[run] <= most) {
        ++runs[run];
        at += direction;
      }
      if (runs[run] == 0 || runs[run] > most) return false;
      if (run == to) return true;
      run = to < from ? run - 1 : run + 1;
      color = 1 - color;
    }
  }
  /// -1 outside of the picture.
  int value(int at) const {
    const int x = x_ + at * step_x_;
    const int y = y_ + at * step_y_;
    return x < 0 || y < 0 || x >= dark_.width || y >= dark_.height ? -1 : dark_.at(x, y);
  }

  const GrayImage& dark_;
  int x_;
  int y_;
  int step_x_;
  int step_y_;
};

/// A row's finding, checked down its column and then again along the row through the better centre.
std::optional<FinderPattern> checked(const GrayImage& dark, int x, int y, int width) {
  if (dark.at(x, y) == 0) return std::nullopt;
  const auto down = Line(dark, x, y, 0, 1).cross(2 * width);
  if (!down) return std::nullopt;
  const int center_y = y + static_cast<int>(std::lround(down->center));
  if (center_y < 0 || center_y >= dark.height || dark.at(x, center_y) == 0) return std::nullopt;
  const auto along = Line(dark, x, center_y, 1, 0).cross(2 * width);
  if (!along) return std::nullopt;
  return FinderPattern{{x + along->center, y + down->center}, along->module, down->module, 1};
}

void add(std::vector<FinderPattern>& found, const FinderPattern& pattern) {
  // The newest are last, and rows run downwards: what this belongs to is near the end.
  for (auto known = found.rbegin(); known != found.rend(); ++known) {
    const double reach_x = 2 * known->module_x;
    const double reach_y = 2 * known->module_y;
    if (std::abs(known->center.x - pattern.center.x) > reach_x) continue;
    if (std::abs(known->center.y - pattern.center.y) > reach_y) continue;
    const double old_part = known->hits / (known->hits + 1.0);
    const auto mix = [&](double& old, double now) { old = old * old_part + now * (1 - old_part); };
    mix(known->center.x, pattern.center.x);
    mix(known->center.y, pattern.center.y);
    mix(known->module_x, pattern.module_x);
    mix(known->module_y, pattern.module_y);
    ++known->hits;
    return;
  }
  found.push_back(pattern);
}

void scan_row(const GrayImage& dark, int y, std::vector<FinderPattern>& found) {
  const std::uint8_t* row = dark.pixels.data() + dark.index(0, y);
  Runs runs{};
  int run_start = 0;
  for (int x = 1; x <= dark.width; ++x) {
    if (x < dark.width && row[x] == row[x - 1]) continue;
    for (std::size_t i = 0; i < 4; ++i) runs[i] = runs[i + 1];
    runs[4] = x - run_start;
    run_start = x;
    if (row[x - 1] == 0 || !looks_like_finder(runs)) continue;
    const int middle = x - runs[4] - runs[3] - runs[2] / 2 - 1;
    if (middle < 0) continue;
    if (const auto pattern = checked(dark, middle, y, total(runs))) add(found, *pattern);
  }
}

}  // namespace

std::vector<FinderPattern> find_finder_patterns(const GrayImage& dark) {
  std::vector<FinderPattern> found;
  for (int y = 0; y < dark.height; ++y) scan_row(dark, y, found);
  std::erase_if(found, [](const FinderPattern& pattern) { return pattern.hits < 2; });
  return found;
}

}  // namespace rackside::labels
