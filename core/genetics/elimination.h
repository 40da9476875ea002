#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace rackside::core::genetics {

/// Variables with few values each, and factors over some of them: what the posterior is proportional to is the product
/// of all factors. A factor's table has its last variable fastest.
struct Network {
  struct Factor {
    std::uint32_t first_variable = 0;  ///< in `variables`
    std::uint32_t count = 0;
    std::uint32_t first_value = 0;  ///< in `values`
  };
  std::vector<std::uint32_t> sizes;  ///< of each variable
  std::vector<Factor> factors;
  std::vector<std::uint32_t> variables;
  std::vector<double> values;
  double log_scale = 0;  ///< by how much the factors' product is too small, as a logarithm

  void clear();
  std::uint32_t add_variable(std::uint32_t size);
  /// Begins a factor over distinct variables and returns its table, filled with `value`, valid until the next call.
  std::span<double> add_factor(std::span<const std::uint32_t> over, double value = 0);
  std::span<const std::uint32_t> variables_of(const Factor& factor) const {
    return {variables.data() + factor.first_variable, factor.count};
  }
};

/// Exact sums over a network by eliminating one variable after the other, and back again for every variable's chances.
/// The order is found greedily: whichever makes the smallest table now; if a table would pass the limit, the one that
/// adds the fewest neighbours is tried as well. Source: Dechter, "Bucket elimination" (1999); Lauritzen and
/// Spiegelhalter (1988) for the way back.
class Elimination {
 public:
  /// Tables of more entries than this are not made.
  static constexpr std::uint64_t kLargestTable = std::uint64_t{1} << 20;
  static constexpr std::uint64_t kAllTables = std::uint64_t{1} << 23;

  /// Another limit than kLargestTable for plan().
  void limit_to(std::uint64_t entries) { widest_ = limit_ = entries; }

  enum class Outcome : std::uint8_t { solved, impossible, too_wide };

  /// Finds the order and reserves; cheap beside solve. `together` are variables whose joint chances will be asked for.
  /// False where it would be too wide.
  bool plan(const Network& network, std::span<const std::uint32_t> together = {});
  /// Requires plan() of the same network. Impossible: the product is nowhere over 0.
  Outcome solve(const Network& network);

  /// For networks that are too wide: eliminates only what makes no table over `limit`, and leaves a core.
  void plan_down_to_core(const Network& network, std::uint64_t limit);
  /// Requires plan_down_to_core() of the same network. What is left of it: a network over core()'s variables, in their
  /// order. False where the product is nowhere over 0.
  bool solve_down_to_core(const Network& network, Network& core);
  const std::vector<std::uint32_t>& core() const { return core_; }
  /// The way back from the core: `values` are chances in place of each factor's values, as solve_down_to_core() gave
  /// it. Afterwards chances() and joint_of() answer as after solve().
  void come_back_from_core(std::span<const double> values);

  /// Of the product of all factors.
  double log_sum() const { return log_sum_; }
  std::span<const double> chances(std::uint32_t variable) const {
    return {marginals_.data() + first_marginal_[variable], marginals_.data() + first_marginal_[variable + 1]};
  }
  /// The joint chances of variables that a factor ties, the last fastest.
  void joint_of(std::span<const std::uint32_t> over, std::vector<double>& out) const;
  /// The joint chances of what plan() was asked to keep together, the last fastest.
  const std::vector<double>& joint() const { return joint_; }
  /// Entries of the largest table.
  std::uint64_t largest_table() const { return largest_; }
  /// Which variables to fix so that the rest has no table over `limit`. `weary` counts how often each was chosen before
  /// and grows by what is chosen now, so that another call chooses others where it can.
  std::vector<std::uint32_t> choose_cut(const Network& network, std::uint64_t limit, std::vector<std::uint32_t>& weary);
  /// The half of solve() that draw_values() needs. False where the product is nowhere over 0.
  bool solve_for_drawing(const Network& network);
  /// Draws a value for every variable from their joint chances, after solve() or solve_for_drawing(). `draw` gives
  /// numbers from 0 to 1.
  template <typename Draw>
  void draw_values(Draw&& draw, std::vector<std::uint32_t>& values) const;

 private:
  enum class Rule : std::uint8_t { smallest_table, fewest_new };
  struct Bucket {
    std::uint32_t first_scope = 0;  ///< in scopes_: separator, then the variable itself
    std::uint32_t separator = 0;    ///< number of variables in it
    std::uint32_t parent = 0;
    std::uint64_t first_value = 0;    ///< in tables_
    std::uint64_t entries = 0;        ///< of the separator
    std::uint64_t first_message = 0;  ///< in messages_
  };

  bool order(const Network& network, std::span<const std::uint32_t> together, Rule rule);
  void connect(const Network& network, std::span<const std::uint32_t> together);
  double cost(const Network& network, std::uint32_t variable, Rule rule) const;
  void absorb_neighbours(std::uint32_t variable);
  bool make_bucket(const Network& network, std::uint32_t variable);
  std::uint32_t fix_one(std::uint32_t near);
  bool forward(const Network& network);
  void lay_out(const Network& network);
  void reserve();
  void backward(std::vector<double>& tables, std::vector<double>& messages);
  std::uint32_t add_core_factor(std::span<const std::uint32_t> over, const double* values, Network& core);
  /// Calls for every entry of a core's factor with its place and that in a table over some of its variables.
  template <typename Do>
  void walk_home(std::uint32_t home, std::span<const std::uint32_t> over, Do&& act) const;
  void multiply_home(std::uint32_t home, std::span<const std::uint32_t> over, const double* values, double* into) const;
  void sum_home(std::uint32_t home, std::span<const std::uint32_t> over, double* out) const;
  std::uint32_t home_of(std::span<const std::uint32_t> over) const;
  void multiply(const Bucket& into, std::span<const std::uint32_t> over, const double* values);
  void sum_onto(const Bucket& from, const double* table, std::span<const std::uint32_t> over, double* out) const;
  void strides_for(const Bucket& bucket, std::span<const std::uint32_t> over) const;
  std::span<const std::uint32_t> separator_of(const Bucket& bucket) const {
    return {scopes_.data() + bucket.first_scope, bucket.separator};
  }

  std::vector<std::vector<std::uint32_t>> neighbours_;
  std::vector<std::uint32_t> order_;
  std::vector<std::uint32_t> position_;  ///< of a variable in the order
  std::vector<Bucket> buckets_;          ///< in the order
  std::vector<std::uint32_t> scopes_;
  std::vector<std::uint32_t> sizes_;
  std::vector<double> tables_;
  std::vector<double> messages_;
  std::vector<std::uint32_t> factor_head_, factor_next_, bucket_head_, bucket_next_;
  std::vector<std::uint32_t> together_;
  std::vector<double> marginals_;
  std::vector<std::uint32_t> first_marginal_;
  std::vector<double> joint_;
  mutable std::vector<std::uint64_t> strides_;
  mutable std::vector<std::uint32_t> counter_;
  mutable std::vector<std::uint32_t> mark_;
  mutable std::uint32_t marked_ = 0;
  double log_sum_ = 0;
  std::uint64_t largest_ = 0;
  std::uint64_t widest_ = kLargestTable;
  std::uint64_t limit_ = kLargestTable;          ///< in force
  std::vector<std::uint32_t>* weary_ = nullptr;  ///< set: what is too large is cut
  std::vector<std::uint32_t> cut_;
  bool stop_at_limit_ = false;                 ///< what is too large stays in the core
  std::vector<std::uint32_t> core_, core_of_;  ///< variables left, and their place among them
  std::vector<std::uint32_t> core_home_;       ///< of a bucket without parent: the core's factor that took its message
  std::vector<std::vector<std::uint32_t>> homes_of_;  ///< by place in the core
  std::vector<std::vector<std::uint32_t>> home_scopes_;
  std::vector<std::uint32_t> home_first_;  ///< of a core's factor in core_chances_
  std::vector<double> joints_, ratios_, core_chances_;
  bool from_core_ = false;  ///< the last answers are come_back_from_core()'s
};

template <typename Draw>
void Elimination::draw_values(Draw&& draw, std::vector<std::uint32_t>& values) const {
  values.resize(sizes_.size());
  for (std::size_t i = order_.size(); i-- > 0;) {
    const Bucket& bucket = buckets_[i];
    std::uint64_t row = 0;
    for (std::uint32_t other : separator_of(bucket)) row = row * sizes_[other] + values[other];
    const std::uint32_t inner = sizes_[order_[i]];
    const double* cells = tables_.data() + bucket.first_value + row * inner;
    double all = 0;
    for (std::uint32_t x = 0; x < inner; ++x) all += cells[x];
    double left = draw() * all;
    std::uint32_t value = 0;
    while (value + 1 < inner && (cells[value] <= 0 || (left -= cells[value]) >= 0)) ++value;
    while (value > 0 && cells[value] <= 0) --value;
    values[order_[i]] = value;
  }
}

}  // namespace rackside::core::genetics
