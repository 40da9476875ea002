#include "core/genetics/sampling.h"

#include <algorithm>
#include <cmath>
#include <random>

namespace rackside::core::genetics {
namespace {

/// The larger the tables of a block, the fewer draws are wasted; over very many variables memory sets the limit.
constexpr std::uint64_t kBlockTable = 1 << 8;
constexpr std::uint64_t kLeastTable = 81;
constexpr std::uint64_t kBlockEntries = 1 << 22;
constexpr std::size_t kBlocks = 4;
constexpr unsigned kBatches = 10;
constexpr unsigned kTries = 8;
constexpr std::uint32_t kFixed = 0xffffffff;

using Values = std::vector<std::uint32_t>;

/// The network with some variables fixed: what is left of each factor, refilled for each sweep.
class Block {
 public:
  Block(const Network& network, const Values& cut);

  /// Exact for the free variables given the fixed ones' values; false where these allow nothing.
  bool solve(const Network& network, const Values& values);
  const Values& free() const { return free_; }
  Elimination& elimination() { return elimination_; }
  bool planned() const { return planned_; }

 private:
  void add_factor(const Network& network, const Network::Factor& factor);

  struct Part {
    std::uint32_t first_offset = 0;
    std::uint32_t entries = 0;
    std::vector<std::pair<std::uint32_t, std::uint32_t>> strides;  ///< fixed variable and its step in the whole table
  };
  Values local_;  ///< of the network's variables, kFixed for the fixed
  Values free_;
  Network rest_;
  std::vector<Part> parts_;
  std::vector<std::uint32_t> offsets_;
  Elimination elimination_;
  bool planned_ = false;
};

Block::Block(const Network& network, const Values& cut) : local_(network.sizes.size(), 0) {
  for (std::uint32_t variable : cut) local_[variable] = kFixed;
  for (std::uint32_t i = 0; i < local_.size(); ++i) {
    if (local_[i] == kFixed) continue;
    local_[i] = rest_.add_variable(network.sizes[i]);
    free_.push_back(i);
  }
  for (const Network::Factor& factor : network.factors) add_factor(network, factor);
  planned_ = elimination_.plan(rest_);
}

void Block::add_factor(const Network& network, const Network::Factor& factor) {
  const auto over = network.variables_of(factor);
  Part part{.first_offset = static_cast<std::uint32_t>(offsets_.size())};
  Values kept;
  std::vector<std::uint32_t> steps(over.size());
  std::uint32_t step = 1;
  for (std::size_t i = over.size(); i-- > 0;) {
    steps[i] = step;
    step *= network.sizes[over[i]];
  }
  std::vector<std::uint32_t> offsets{0};
  for (std::size_t i = 0; i < over.size(); ++i) {
    if (local_[over[i]] == kFixed) {
      part.strides.emplace_back(over[i], steps[i]);
      continue;
    }
    kept.push_back(local_[over[i]]);
    std::vector<std::uint32_t> longer;
    for (std::uint32_t offset : offsets) {
      for (std::uint32_t x = 0; x < network.sizes[over[i]]; ++x) longer.push_back(offset + x * steps[i]);
    }
    offsets = std::move(longer);
  }
  rest_.add_factor(kept);
  part.entries = static_cast<std::uint32_t>(offsets.size());
  offsets_.insert(offsets_.end(), offsets.begin(), offsets.end());
  parts_.push_back(std::move(part));
}

bool Block::solve(const Network& network, const Values& values) {
  for (std::size_t f = 0; f < parts_.size(); ++f) {
    const Part& part = parts_[f];
    std::uint32_t base = network.factors[f].first_value;
    for (const auto& [variable, step] : part.strides) base += values[variable] * step;
    double* out = rest_.values.data() + rest_.factors[f].first_value;
    for (std::uint32_t i = 0; i < part.entries; ++i) out[i] = network.values[base + offsets_[part.first_offset + i]];
  }
  return elimination_.solve(rest_) == Elimination::Outcome::solved;
}

class Walk {
 public:
  Walk(const Network& network, const Values& begin, unsigned sweeps)
      : network_(network), values_(begin), sweeps_(std::max(sweeps, 2 * kBatches)) {}

  Sampled run() {
    choose_blocks();
    if (blocks_.empty() || !find_start()) return {};
    const unsigned before = sweeps_ / 10;
    for (unsigned i = 0; i < before; ++i) sweep(i, nullptr);
    Sampled out{.found = true};
    prepare(out);
    const unsigned each = sweeps_ / kBatches;
    for (unsigned batch = 0; batch < kBatches; ++batch) {
      std::vector<std::vector<double>> sums(network_.sizes.size());
      for (std::size_t v = 0; v < sums.size(); ++v) sums[v].assign(network_.sizes[v], 0);
      for (unsigned i = 0; i < each; ++i) sweep(before + batch * each + i, &sums);
      add_batch(sums, out);
    }
    finish(out);
    return out;
  }

 private:
  double draw() { return std::uniform_real_distribution<double>(0, 1)(random_); }

  std::uint64_t limit() const {
    return std::clamp(kBlockEntries / (network_.sizes.size() + 1), kLeastTable, kBlockTable);
  }

  void choose_blocks() {
    std::vector<std::uint32_t> weary(network_.sizes.size());
    Elimination chooser;
    for (std::size_t i = 0; i < kBlocks; ++i) {
      Block block(network_, chooser.choose_cut(network_, limit(), weary));
      if (block.planned()) blocks_.push_back(std::move(block));
    }
  }

  /// Draws from a network in which the impossible is only unlikely until what is drawn is possible.
  bool find_start() {
    for (const double unlikely : {1e-2, 1e-3, 1e-4, 1e-6, 1e-8, 1e-10}) {
      const Network relaxed = relax(unlikely);
      for (unsigned attempt = 0; attempt < kTries; ++attempt) {
        if (draw_from(blocks_[attempt % blocks_.size()], relaxed)) return true;
      }
    }
    return false;
  }

  Network relax(double unlikely) const {
    Network out = network_;
    for (double& one : out.values) one = std::max(one, unlikely);
    return out;
  }

  bool draw_from(Block& block, const Network& relaxed) {
    if (!block.solve(relaxed, values_)) return false;
    keep_drawn(block);
    return is_possible();
  }

  bool is_met(const Network::Factor& factor) const {
    std::uint32_t at = 0;
    for (std::uint32_t v : network_.variables_of(factor)) at = at * network_.sizes[v] + values_[v];
    return network_.values[factor.first_value + at] > 0;
  }

  bool is_possible() const {
    return std::all_of(network_.factors.begin(), network_.factors.end(),
                       [this](const Network::Factor& factor) { return is_met(factor); });
  }

  void keep_drawn(Block& block) {
    block.elimination().draw_values([this] { return draw(); }, drawn_);
    for (std::size_t i = 0; i < drawn_.size(); ++i) values_[block.free()[i]] = drawn_[i];
  }

  /// The fixed variables of this sweep count as what they are, the free ones with their chances.
  void sweep(unsigned number, std::vector<std::vector<double>>* sums) {
    Block& block = blocks_[number % blocks_.size()];
    if (!block.solve(network_, values_)) return;  // cannot be: the values at hand are possible
    if (sums) {
      std::vector<bool> is_free(values_.size());
      for (std::uint32_t i = 0; i < block.free().size(); ++i) {
        const auto chances = block.elimination().chances(i);
        is_free[block.free()[i]] = true;
        for (std::size_t x = 0; x < chances.size(); ++x) (*sums)[block.free()[i]][x] += chances[x];
      }
      for (std::size_t v = 0; v < values_.size(); ++v) {
        if (!is_free[v]) (*sums)[v][values_[v]] += 1;
      }
    }
    keep_drawn(block);
  }

  void prepare(Sampled& out) {
    squares_.resize(network_.sizes.size());
    for (std::size_t v = 0; v < squares_.size(); ++v) {
      squares_[v].assign(network_.sizes[v], 0);
      out.chances.emplace_back(network_.sizes[v]);
    }
    out.errors.assign(network_.sizes.size(), 0);
  }

  void add_batch(const std::vector<std::vector<double>>& sums, Sampled& out) {
    for (std::size_t v = 0; v < sums.size(); ++v) {
      double all = 0;
      for (double one : sums[v]) all += one;
      for (std::size_t x = 0; x < sums[v].size(); ++x) {
        const double mean = sums[v][x] / all;
        out.chances[v][x] += mean / kBatches;
        squares_[v][x] += mean * mean / kBatches;
      }
    }
  }

  void finish(Sampled& out) {
    for (std::size_t v = 0; v < squares_.size(); ++v) {
      for (std::size_t x = 0; x < squares_[v].size(); ++x) {
        const double spread = std::max(0.0, squares_[v][x] - out.chances[v][x] * out.chances[v][x]);
        out.errors[v] = std::max(out.errors[v], std::sqrt(spread / (kBatches - 1)));
      }
    }
  }

  const Network& network_;
  Values values_;
  Values drawn_;
  unsigned sweeps_;
  std::vector<Block> blocks_;
  std::vector<std::vector<double>> squares_;
  std::mt19937_64 random_{1};
};

}  // namespace

Sampled sample(const Network& network, const std::vector<std::uint32_t>& begin, unsigned sweeps) {
  return Walk(network, begin, sweeps).run();
}

}  // namespace rackside::core::genetics
