#include "core/genetics/first_values.h"

#include <algorithm>
#include <bit>
#include <numeric>

namespace rackside::core::genetics {
namespace {

using Mask = std::uint64_t;
constexpr std::uint32_t kMostValues = 64;

class Search {
 public:
  explicit Search(const Network& network) : network_(network), of_(network.sizes.size()) {
    for (std::uint32_t size : network.sizes) left_.push_back(size >= kMostValues ? ~Mask{0} : (Mask{1} << size) - 1);
    queued_.assign(network.factors.size(), 0);
    for (std::uint32_t f = 0; f < network.factors.size(); ++f) {
      if (!forbids(network.factors[f])) continue;
      for (std::uint32_t v : network.variables_of(network.factors[f])) of_[v].push_back(f);
      enqueue(f);
    }
  }

  bool run(std::vector<std::uint32_t>& values) {
    if (!settle()) return false;
    std::vector<std::uint32_t> order(of_.size());
    std::iota(order.begin(), order.end(), 0);
    std::stable_sort(order.begin(), order.end(),
                     [this](std::uint32_t a, std::uint32_t b) { return of_[a].size() > of_[b].size(); });
    for (std::uint32_t v : order) {
      if (!choose(v, values[v])) return false;
    }
    for (std::size_t v = 0; v < values.size(); ++v) values[v] = static_cast<std::uint32_t>(std::countr_zero(left_[v]));
    return true;
  }

 private:
  bool forbids(const Network::Factor& factor) const {
    std::size_t entries = 1;
    for (std::uint32_t v : network_.variables_of(factor)) entries *= network_.sizes[v];
    const double* const first = network_.values.data() + factor.first_value;
    return std::any_of(first, first + entries, [](double value) { return !(value > 0); });
  }

  void enqueue(std::uint32_t factor) {
    if (queued_[factor]) return;
    queued_[factor] = 1;
    queue_.push_back(factor);
  }

  bool choose(std::uint32_t v, std::uint32_t wish) {
    if (std::has_single_bit(left_[v])) return true;
    if ((left_[v] >> wish & 1) && holds(v, wish)) return true;
    for (Mask rest = left_[v] & ~(Mask{1} << wish); rest; rest &= rest - 1) {
      if (holds(v, static_cast<std::uint32_t>(std::countr_zero(rest)))) return true;
    }
    return false;
  }

  /// With this value something is left of every other variable.
  bool holds(std::uint32_t v, std::uint32_t value) {
    const std::size_t before = taken_.size();
    narrow(v, Mask{1} << value);
    if (settle()) return true;
    while (taken_.size() > before) {
      left_[taken_.back().first] = taken_.back().second;
      taken_.pop_back();
    }
    return false;
  }

  void narrow(std::uint32_t v, Mask to) {
    if ((left_[v] & to) == left_[v]) return;
    taken_.emplace_back(v, left_[v]);
    left_[v] &= to;
    for (std::uint32_t factor : of_[v]) enqueue(factor);
  }

  bool settle() {
    bool fits = true;
    while (!queue_.empty()) {
      const std::uint32_t factor = queue_.back();
      queue_.pop_back();
      queued_[factor] = 0;
      fits = fits && revise(network_.factors[factor]);
    }
    return fits;
  }

  /// Rules out the values that no allowed entry of the factor has.
  bool revise(const Network::Factor& factor) {
    const auto over = network_.variables_of(factor);
    supported_.assign(over.size(), 0);
    counter_.assign(over.size(), 0);
    std::size_t cell = factor.first_value;
    for (bool more = true; more; ++cell) {
      if (network_.values[cell] > 0 && all_left(over)) {
        for (std::size_t i = 0; i < over.size(); ++i) supported_[i] |= Mask{1} << counter_[i];
      }
      more = false;
      for (std::size_t i = over.size(); i-- > 0 && !more;) {
        more = ++counter_[i] < network_.sizes[over[i]];
        if (!more) counter_[i] = 0;
      }
    }
    for (std::size_t i = 0; i < over.size(); ++i) {
      if (!(left_[over[i]] & supported_[i])) return false;
      narrow(over[i], supported_[i]);
    }
    return true;
  }

  bool all_left(std::span<const std::uint32_t> over) const {
    for (std::size_t i = 0; i < over.size(); ++i) {
      if (!(left_[over[i]] >> counter_[i] & 1)) return false;
    }
    return true;
  }

  const Network& network_;
  std::vector<Mask> left_;
  std::vector<std::vector<std::uint32_t>> of_;  ///< factors that forbid something, by variable
  std::vector<std::uint32_t> queue_;
  std::vector<std::uint8_t> queued_;
  std::vector<std::pair<std::uint32_t, Mask>> taken_;
  std::vector<Mask> supported_;
  std::vector<std::uint32_t> counter_;
};

}  // namespace

bool find_first_values(const Network& network, std::vector<std::uint32_t>& values) {
  const bool small =
      std::all_of(network.sizes.begin(), network.sizes.end(), [](std::uint32_t size) { return size <= kMostValues; });
  return small && Search(network).run(values);
}

}  // namespace rackside::core::genetics
