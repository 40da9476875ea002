#pragma once

#include <cstdint>
#include <set>
#include <vector>

#include "core/genetics/pedigree.h"

namespace rackside::core::genetics {

/// Draws of a sampled component that are kept: the genotypes of its variables, some hundred times. What is said later
/// is weighed by them, so that one more clutch does not mean drawing anew (importance sampling). When what is new is so
/// unexpected that few draws still count, all is drawn anew.
class Draws {
 public:
  void add(std::vector<std::uint8_t> states) {
    states_.push_back(std::move(states));
    logs_.push_back(0);
    weights_.clear();
  }
  /// One more variable; returns its number.
  std::uint32_t add_variable(const std::vector<std::uint8_t>& states) {
    for (std::size_t i = 0; i < states_.size(); ++i) states_[i].push_back(states[i]);
    return static_cast<std::uint32_t>(states_.front().size() - 1);
  }
  void add_choice(NodeIndex node) { choices_.insert(node); }
  bool has_choice(NodeIndex node) const { return choices_.contains(node); }

  std::size_t size() const { return states_.size(); }
  std::uint8_t state(std::size_t draw, std::uint32_t variable) const { return states_[draw][variable]; }
  /// What is new is this likely by that draw.
  void weigh(std::size_t draw, double likelihood);
  /// Makes the weights sum 1. Returns how many draws of equal weight would tell as much.
  double settle();
  bool reweighed() const { return !weights_.empty(); }
  double weight(std::size_t draw) const {
    return weights_.empty() ? 1 / static_cast<double>(states_.size()) : weights_[draw];
  }
  /// How many draws of equal weight would tell as much.
  double effective() const;

 private:
  std::vector<std::vector<std::uint8_t>> states_;  ///< by draw and variable
  std::vector<double> logs_, weights_;
  std::set<NodeIndex> choices_;  ///< true ones of several possible sires
};

}  // namespace rackside::core::genetics
