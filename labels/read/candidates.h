#pragma once

#include <vector>

#include "labels/read/finders.h"

namespace rackside::labels {

/// A place in the picture where a symbol may lie: the middles of its finder patterns, at least two of which were seen.
struct Candidate {
  static constexpr std::size_t kNone = static_cast<std::size_t>(-1);

  PixelPoint corner;                                ///< top left
  PixelPoint right;                                 ///< top right
  PixelPoint below;                                 ///< bottom left
  PixelPoint far;                                   ///< where the fourth is guessed
  int size = 0;                                     ///< modules a side, the likeliest; a multiple of 4, plus 1
  double modules = 0;                               ///< between the finders' middles, as measured
  double module = 0;                                ///< pixels
  double oddness = 0;                               ///< 0 for a perfect square; the best are tried first
  double sight = 0;                                 ///< what first_sight said, once it did
  std::size_t patterns[3] = {kNone, kNone, kNone};  ///< which they are: corner, right, below

  bool sees_all() const { return patterns[0] != kNone && patterns[1] != kNone && patterns[2] != kNone; }
};

/// Every triple of patterns whose corner is a right one and whose sides are equal on the plane they lie in; the best
/// first.
std::vector<Candidate> triples_of(const std::vector<FinderPattern>& patterns);

/// Every pair that may belong to one symbol whose third pattern was not seen, in all six ways; the best first.
/// `used`: patterns to leave out.
std::vector<Candidate> pairs_of(const std::vector<FinderPattern>& patterns, const std::vector<char>& used);

}  // namespace rackside::labels
