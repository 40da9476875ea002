#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "core/genetics/elimination.h"

namespace rackside::core::genetics {

/// Chances of a network that is too wide for elimination. What makes small tables is summed out exactly; of the core
/// that is left values are drawn: one variable after the other given the others, and in between blocks as a whole, some
/// variables being fixed so that the rest can be solved exactly. What hangs on the core follows exactly from how often
/// each of its states was drawn. The numbers drawn come from a fixed seed, so the same network gives the same answer.
/// `begin`: a value of each variable that goes with many values of others, to begin from. `take` is called after each
/// of ten batches of draws, with that batch's chances; `keep` after every second round with a value of every variable,
/// drawn from all chances jointly. False: no state was found to begin from. Source: Geman and Geman 1984; Jensen, Kong
/// and Kjaerulff 1995, "Blocking Gibbs sampling in very large probabilistic expert systems".
bool sample(const Network& network, const std::vector<std::uint32_t>& begin, unsigned rounds,
            const std::function<void(const Elimination&)>& take,
            const std::function<void(const std::vector<std::uint32_t>&)>& keep = {});

/// Means of the batches, and their standard errors.
class Batches {
 public:
  void add(const std::vector<double>& values);
  double mean(std::size_t i) const { return sums_[i] / count_; }
  double error(std::size_t i) const;

 private:
  std::vector<double> sums_, squares_;
  double count_ = 0;
};

/// All variables' chances.
struct Sampled {
  bool found = false;
  std::vector<std::vector<double>> chances;  ///< by variable
  std::vector<double> errors;                ///< standard error, the largest of the variable's values
};
Sampled sample(const Network& network, const std::vector<std::uint32_t>& begin, unsigned rounds);

}  // namespace rackside::core::genetics
