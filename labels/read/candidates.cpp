#include "labels/read/candidates.h"

#include <algorithm>
#include <cmath>

#include "labels/read/pattern.h"

namespace rackside::labels {
namespace {

constexpr double kLeastModules = 10.5;  ///< between finders: version 1 has 14
constexpr double kMostModules = 60;     ///< version 12: ours are 1 to 4, foreign ones larger
constexpr double kMostOddness = 0.75;
constexpr double kMostPairOddness = 0.2;
constexpr double kMostRatio = 2.6;     ///< of areas of modules that are neighbours in a slanting view
constexpr double kTrustInSizes = 0.7;  ///< of what finder sizes say on perspective

PixelPoint minus(const PixelPoint& a, const PixelPoint& b) {
  return {a.x - b.x, a.y - b.y};
}
PixelPoint plus(const PixelPoint& a, const PixelPoint& b, double part = 1) {
  return {a.x + part * b.x, a.y + part * b.y};
}

bool alike(const FinderPattern& a, const FinderPattern& b) {
  const double p = a.shape.area();
  const double q = b.shape.area();
  return p < kMostRatio * q && q < kMostRatio * p;
}

struct Neighbour {
  std::size_t index;
  PixelPoint way;
  double modules;
};

std::vector<Neighbour> neighbours(const std::vector<FinderPattern>& patterns, std::size_t from) {
  const FinderPattern& here = patterns[from];
  // No point of a symbol is farther away than its diagonal, along the longest side of a module.
  const double reach = kMostModules * std::sqrt(here.shape.xx + here.shape.yy) * 1.5;
  std::vector<Neighbour> near;
  for (std::size_t i = 0; i < patterns.size(); ++i) {
    const PixelPoint way = minus(patterns[i].center, here.center);
    if (i == from || std::abs(way.x) > reach || std::abs(way.y) > reach || !alike(here, patterns[i])) continue;
    const ModuleShape shape = between(here.shape, patterns[i].shape);
    const double modules = std::sqrt(shape.inner(way, way));
    if (modules >= kLeastModules && modules <= kMostModules) near.push_back({i, way, modules});
  }
  return near;
}

int likely_size(double modules) {
  const int version = std::max(1, static_cast<int>(std::lround((modules - 10) / 4)));
  return 17 + 4 * version;
}

/// How far a distance is from one that finders of a symbol have, as a part.
double off_lattice(double modules) {
  return std::abs(modules / (likely_size(modules) - 7) - 1);
}

/// The view's depth at the three finders, by the sizes of their modules, gives the fourth corner: where the plane is
/// farther away its modules are smaller, an area by the third power.
PixelPoint fourth_of(const Candidate& c, const FinderPattern& corner, const FinderPattern& right,
                     const FinderPattern& below) {
  const double base = corner.shape.area();
  const double depth_right = std::pow(base / right.shape.area(), kTrustInSizes / 3);
  const double depth_below = std::pow(base / below.shape.area(), kTrustInSizes / 3);
  const double depth = std::max(0.5, depth_right + depth_below - 1);
  return {(c.right.x * depth_right + c.below.x * depth_below - c.corner.x) / depth,
          (c.right.y * depth_right + c.below.y * depth_below - c.corner.y) / depth};
}

void finish(Candidate& candidate, double area) {
  candidate.size = likely_size(candidate.modules);
  candidate.module = std::sqrt(area);
}

void sort_by_oddness(std::vector<Candidate>& candidates) {
  std::sort(candidates.begin(), candidates.end(),
            [](const Candidate& a, const Candidate& b) { return a.oddness < b.oddness; });
}

Candidate triple(const std::vector<FinderPattern>& patterns, std::size_t corner, const Neighbour& right,
                 const Neighbour& below) {
  const FinderPattern& a = patterns[corner];
  const FinderPattern& b = patterns[right.index];
  const FinderPattern& c = patterns[below.index];
  const ModuleShape shape = between(between(b.shape, c.shape), a.shape);
  const double cosine = std::abs(shape.inner(right.way, below.way)) /
                        std::sqrt(shape.inner(right.way, right.way) * shape.inner(below.way, below.way));
  Candidate candidate{a.center, b.center, c.center, {}};
  candidate.modules = (right.modules + below.modules) / 2;
  candidate.oddness = cosine + std::abs(std::log(right.modules / below.modules)) + candidate.modules / 250 +
                      0.3 * (3 - a.quality - b.quality - c.quality);
  candidate.patterns[0] = corner;
  candidate.patterns[1] = right.index;
  candidate.patterns[2] = below.index;
  candidate.far = fourth_of(candidate, a, b, c);
  finish(candidate, shape.area());
  return candidate;
}

/// A pair as a side of the symbol (the third lies off either end, to one hand) or as its diagonal.
void add_pair(std::vector<Candidate>& out, const std::vector<FinderPattern>& patterns, std::size_t from,
              const Neighbour& to) {
  const FinderPattern& a = patterns[from];
  const FinderPattern& b = patterns[to.index];
  const ModuleShape shape = between(a.shape, b.shape);
  const PixelPoint across = shape.turned(to.way);
  const auto add = [&](Candidate candidate, double modules) {
    candidate.modules = modules;
    candidate.oddness = off_lattice(modules) + modules / 400;
    candidate.far = minus(plus(candidate.right, candidate.below), candidate.corner);
    if (off_lattice(modules) > kMostPairOddness || modules > kMostSize - 6) return;
    finish(candidate, shape.area());
    out.push_back(candidate);
  };
  const std::size_t none = Candidate::kNone;
  // Both orders of a pair come here, so only one hand is looked at for the sides.
  add({a.center, b.center, plus(a.center, across), {}, 0, 0, 0, 0, 0, {from, to.index, none}}, to.modules);
  add({b.center, plus(b.center, across), a.center, {}, 0, 0, 0, 0, 0, {to.index, none, from}}, to.modules);
  const PixelPoint middle = plus(a.center, to.way, 0.5);
  add({plus(middle, across, 0.5), a.center, b.center, {}, 0, 0, 0, 0, 0, {none, from, to.index}},
      to.modules / std::sqrt(2));
}

}  // namespace

std::vector<Candidate> triples_of(const std::vector<FinderPattern>& patterns) {
  std::vector<Candidate> candidates;
  for (std::size_t corner = 0; corner < patterns.size(); ++corner) {
    const std::vector<Neighbour> near = neighbours(patterns, corner);
    for (const Neighbour& right : near) {
      for (const Neighbour& below : near) {
        if (right.index == below.index) continue;
        // In a picture that is no mirror image, "below" lies clockwise of "right".
        if (right.way.x * below.way.y - right.way.y * below.way.x <= 0) continue;
        if (right.modules > 1.6 * below.modules || below.modules > 1.6 * right.modules) continue;
        const Candidate candidate = triple(patterns, corner, right, below);
        if (candidate.oddness < kMostOddness) candidates.push_back(candidate);
      }
    }
  }
  sort_by_oddness(candidates);
  return candidates;
}

std::vector<Candidate> pairs_of(const std::vector<FinderPattern>& patterns, const std::vector<char>& used) {
  std::vector<Candidate> candidates;
  for (std::size_t from = 0; from < patterns.size(); ++from) {
    if (used[from]) continue;
    for (const Neighbour& to : neighbours(patterns, from)) {
      if (!used[to.index]) add_pair(candidates, patterns, from, to);
    }
  }
  sort_by_oddness(candidates);
  return candidates;
}

}  // namespace rackside::labels
