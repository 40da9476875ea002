#pragma once

#include <optional>
#include <string>
#include <vector>

#include "labels/read/candidates.h"
#include "labels/read/grid.h"
#include "labels/read/unread.h"

namespace rackside::labels {

/// The picture at half, quarter … of its size.
class Pyramid {
 public:
  explicit Pyramid(const GrayImage& picture);
  std::size_t count() const { return 1 + smaller_.size(); }
  const GrayImage& level(std::size_t i) const { return i == 0 ? picture_ : smaller_[i - 1]; }
  static double scale(std::size_t i) { return static_cast<double>(std::size_t{1} << i); }

 private:
  const GrayImage& picture_;
  std::vector<GrayImage> smaller_;
};

/// How much a candidate looks like a symbol of `size` at first sight, from its finder and timing patterns alone:
/// 1 perfect, 0 chance. A small part of the cost of a Trial.
double first_sight(const Pyramid& pyramid, const Candidate& candidate, int size);

/// Moves the candidate's corners a little to where it looks best; a corner that was not seen may move farther.
void settle(const Pyramid& pyramid, Candidate& candidate);

/// A candidate that is being read.
class Trial {
 public:
  /// Cuts it out, `candidate.size` modules a side, and finds out how much it looks like a symbol.
  Trial(const Pyramid& pyramid, const Candidate& candidate);

  const Candidate& candidate() const { return candidate_; }
  double fit() const { return fit_; }                         ///< 1 a perfect symbol, 0 chance
  double promise() const { return fit_ + candidate_.sight; }  ///< the higher, the likelier it can be read
  /// Not even nearly a symbol, however its grid may be moved: not worth more work. Large ones only the decoder knows.
  bool is_none() const;
  Corners corners() const;  ///< in the picture
  /// What most likely kept it from being read.
  Unread why_unread() const;

  /// The modules as they are; then with the fourth corner looked for.
  std::optional<std::string> read_plainly();
  /// Everything else: a better grid, other levels, blur taken back, the decoder's own way.
  std::optional<std::string> read_hard();

 private:
  std::optional<std::string> read_grid() const;
  std::optional<std::string> read_equalized() const;
  double sharpness() const;

  Candidate candidate_;
  Projection projection_;
  Patch patch_;
  Grid grid_;
  double fit_ = 0;
};

}  // namespace rackside::labels
