#include "core/genetics/draws.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace rackside::core::genetics {

void Draws::weigh(std::size_t draw, double likelihood) {
  logs_[draw] += likelihood > 0 ? std::log(likelihood) : -std::numeric_limits<double>::infinity();
}

double Draws::effective() const {
  double squares = 0;
  for (std::size_t i = 0; i < size(); ++i) squares += weight(i) * weight(i);
  return squares > 0 ? 1 / squares : 0;
}

double Draws::settle() {
  const double most = logs_.empty() ? 0 : *std::max_element(logs_.begin(), logs_.end());
  if (logs_.empty() || !std::isfinite(most)) return 0;
  double all = 0;
  double squares = 0;
  weights_.clear();
  for (double one : logs_) {
    weights_.push_back(std::exp(one - most));
    all += weights_.back();
    squares += weights_.back() * weights_.back();
  }
  for (double& one : weights_) one /= all;
  return all * all / squares;
}

}  // namespace rackside::core::genetics
