#include "core/genetics/sampling.h"

#include <algorithm>
#include <cmath>

#include "core/genetics/first_values.h"
#include "core/genetics/numbers.h"

namespace rackside::core::genetics {
namespace {

/// The larger the tables of a block, the fewer draws are wasted; over very many variables memory sets the limit.
constexpr std::uint64_t kBlockTable = 1 << 8;
constexpr std::uint64_t kLeastTable = 81;
constexpr std::uint64_t kBlockEntries = 1 << 22;
constexpr std::size_t kBlocks = 4;
constexpr unsigned kBatches = 10;
constexpr std::uint32_t kPairStates = 256;
constexpr unsigned kTries = 8;
constexpr unsigned kSiteSweeps = 10;  ///< for each block
constexpr unsigned kKeepOne = 2;      ///< of so many rounds' draws one is kept
/// What makes no larger table is summed out exactly before anything is drawn.
constexpr std::uint64_t kEasyTable = 1 << 8;
constexpr double kUnlikely[] = {1e-2, 1e-3, 1e-4, 1e-6, 1e-8, 1e-10};
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
  return elimination_.solve_for_drawing(rest_);
}

/// One variable after the other is drawn given all others. Each factor of the core knows which of its entries holds.
class Sites {
 public:
  explicit Sites(const Network& core) : core_(core), at_(core.factors.size()) {
    first_tie_.assign(core.sizes.size() + 1, 0);
    for (std::uint32_t variable : core.variables) ++first_tie_[variable + 1];
    for (std::size_t v = 0; v < core.sizes.size(); ++v) first_tie_[v + 1] += first_tie_[v];
    ties_.resize(core.variables.size());
    std::vector<std::uint32_t> filled(first_tie_.begin(), first_tie_.end() - 1);
    for (std::uint32_t f = 0; f < core.factors.size(); ++f) {
      const auto over = core.variables_of(core.factors[f]);
      std::uint32_t stride = 1;
      for (std::size_t i = over.size(); i-- > 0;) {
        ties_[filled[over[i]]++] = {f, stride};
        stride *= core.sizes[over[i]];
      }
    }
    const std::uint32_t most = core.sizes.empty() ? 0 : *std::max_element(core.sizes.begin(), core.sizes.end());
    chances_.resize(std::max(kPairStates, most));
    marked_.assign(core.factors.size(), 0);
    find_partners();
  }

  void place(const Values& values) {
    for (std::size_t f = 0; f < at_.size(); ++f) {
      at_[f] = core_.factors[f].first_value;
      std::uint32_t at = 0;
      for (std::uint32_t v : core_.variables_of(core_.factors[f])) at = at * core_.sizes[v] + values[v];
      at_[f] += at;
    }
  }

  /// `weights`: the core's values, or what stands for them.
  template <typename Draw>
  void draw_all(const std::vector<double>& weights, Values& values, Draw&& draw) {
    for (std::uint32_t v = 0; v < core_.sizes.size(); ++v) {
      if (first_partner_[v] == first_partner_[v + 1]) {
        draw_one(v, weights, values, draw);
      } else {
        const std::uint32_t count = first_partner_[v + 1] - first_partner_[v];
        const auto which = std::min(count - 1, static_cast<std::uint32_t>(draw() * count));
        draw_two(v, partners_[first_partner_[v] + which], weights, values, draw);
      }
    }
  }

  void count(std::vector<double>& counts) const {
    for (std::uint32_t at : at_) counts[at] += 1;
  }
  bool is_possible() const {
    return std::all_of(at_.begin(), at_.end(), [this](std::uint32_t at) { return core_.values[at] > 0; });
  }

 private:
  struct Tie {
    std::uint32_t factor;
    std::uint32_t stride;
  };

  template <typename Draw>
  void draw_one(std::uint32_t v, const std::vector<double>& weights, Values& values, Draw&& draw) {
    const std::uint32_t size = core_.sizes[v];
    const std::uint32_t now = values[v];
    const Tie* const begin = ties_.data() + first_tie_[v];
    const Tie* const end = ties_.data() + first_tie_[v + 1];
    double all = 0;
    for (std::uint32_t x = 0; x < size; ++x) {
      double product = 1;
      for (const Tie* tie = begin; tie != end; ++tie) product *= weights[at_[tie->factor] + (x - now) * tie->stride];
      chances_[x] = product;
      all += product;
    }
    if (!(all > 0)) return;
    const std::uint32_t next = pick(size, draw() * all);
    if (next != now) set(v, next, values);
  }

  /// With more than two values to go through, one variable can be held fast by another: these are drawn by twos.
  void find_partners() {
    first_partner_.assign(1, 0);
    for (std::uint32_t v = 0; v < core_.sizes.size(); ++v) {
      const std::size_t first = partners_.size();
      for (std::uint32_t t = first_tie_[v]; core_.sizes[v] > 2 && t < first_tie_[v + 1]; ++t) {
        for (std::uint32_t other : core_.variables_of(core_.factors[ties_[t].factor])) {
          const bool fits = other != v && core_.sizes[other] * core_.sizes[v] <= kPairStates;
          if (fits && std::find(partners_.begin() + static_cast<std::ptrdiff_t>(first), partners_.end(), other) ==
                          partners_.end())
            partners_.push_back(other);
        }
      }
      first_partner_.push_back(static_cast<std::uint32_t>(partners_.size()));
    }
  }

  void set(std::uint32_t v, std::uint32_t to, Values& values) {
    for (std::uint32_t t = first_tie_[v]; t < first_tie_[v + 1]; ++t)
      at_[ties_[t].factor] += (to - values[v]) * ties_[t].stride;
    values[v] = to;
  }

  template <typename Draw>
  void draw_two(std::uint32_t v, std::uint32_t u, const std::vector<double>& weights, Values& values, Draw&& draw) {
    ++mark_;
    for (std::uint32_t t = first_tie_[u]; t < first_tie_[u + 1]; ++t) marked_[ties_[t].factor] = mark_;
    const std::uint32_t sizes[] = {core_.sizes[v], core_.sizes[u]};
    const std::uint32_t before[] = {values[v], values[u]};
    double all = 0;
    for (std::uint32_t x = 0; x < sizes[0]; ++x) {
      set(v, x, values);
      double alone = 1;
      for (std::uint32_t t = first_tie_[v]; t < first_tie_[v + 1]; ++t)
        alone *= marked_[ties_[t].factor] == mark_ ? 1 : weights[at_[ties_[t].factor]];
      for (std::uint32_t y = 0; y < sizes[1]; ++y) {
        double product = alone;
        for (std::uint32_t t = first_tie_[u]; t < first_tie_[u + 1] && product > 0; ++t)
          product *= weights[at_[ties_[t].factor] + (y - values[u]) * ties_[t].stride];
        chances_[x * sizes[1] + y] = product;
        all += product;
      }
    }
    const std::uint32_t next = all > 0 ? pick(sizes[0] * sizes[1], draw() * all) : before[0] * sizes[1] + before[1];
    set(v, next / sizes[1], values);
    set(u, next % sizes[1], values);
  }

  /// Of chances_.
  std::uint32_t pick(std::uint32_t size, double left) const {
    std::uint32_t next = 0;
    while (next + 1 < size && (chances_[next] <= 0 || (left -= chances_[next]) >= 0)) ++next;
    while (chances_[next] <= 0) next = next > 0 ? next - 1 : size - 1;
    return next;
  }

  const Network& core_;
  std::vector<std::uint32_t> first_tie_, first_partner_, partners_, marked_;
  std::uint32_t mark_ = 0;
  std::vector<Tie> ties_;
  std::vector<std::uint32_t> at_;  ///< of a factor: its present entry in the core's values
  std::vector<double> chances_;
};

/// Draws of a core: single variables many times, and now and then a whole block, which passes where single ones are
/// stuck.
class Walk {
 public:
  Walk(const Network& core, Values begin) : core_(core), sites_(core), values_(std::move(begin)) { choose_blocks(); }

  bool find_start() {
    Values found = values_;
    if (find_first_values(core_, found)) values_ = std::move(found);
    sites_.place(values_);
    if (sites_.is_possible()) return true;
    // The impossible is only unlikely at first, then less and less likely.
    for (const double unlikely : kUnlikely) {
      const std::vector<double> relaxed = relax(unlikely);
      for (unsigned attempt = 0; attempt < kTries; ++attempt) {
        sites_.draw_all(relaxed, values_, [this] { return draw(); });
        if (sites_.is_possible()) return true;
      }
    }
    return draw_start();
  }

  void burn_in(unsigned rounds) {
    for (unsigned i = 0; i < rounds; ++i) round(nullptr);
  }

  /// How often each entry of the core's factors held, as chances.
  template <typename Keep>
  const std::vector<double>& batch(unsigned rounds, Keep&& keep) {
    counts_.assign(core_.values.size(), 0);
    counted_ = 0;
    for (unsigned i = 0; i < rounds; ++i) {
      round(&counts_);
      if (rounds_ % kKeepOne == 0) keep(values_);
    }
    for (double& one : counts_) one /= counted_;
    return counts_;
  }

 private:
  double draw() { return numbers_.next(); }

  std::uint64_t limit() const { return std::clamp(kBlockEntries / (core_.sizes.size() + 1), kLeastTable, kBlockTable); }

  void choose_blocks() {
    std::vector<std::uint32_t> weary(core_.sizes.size());
    Elimination chooser;
    for (std::size_t i = 0; i < kBlocks; ++i) {
      Block block(core_, chooser.choose_cut(core_, limit(), weary));
      if (block.planned()) blocks_.push_back(std::move(block));
    }
  }

  std::vector<double> relax(double unlikely) const {
    std::vector<double> out = core_.values;
    for (double& one : out) one = std::max(one, unlikely);
    return out;
  }

  /// Blocks as a whole from a network in which the impossible is only unlikely.
  bool draw_start() {
    for (const double unlikely : kUnlikely) {
      Network relaxed = core_;
      relaxed.values = relax(unlikely);
      for (unsigned attempt = 0; attempt < kTries && !blocks_.empty(); ++attempt) {
        Block& block = blocks_[attempt % blocks_.size()];
        if (!block.solve(relaxed, values_)) continue;
        keep_drawn(block);
        sites_.place(values_);
        if (sites_.is_possible()) return true;
      }
    }
    return false;
  }

  void keep_drawn(Block& block) {
    block.elimination().draw_values([this] { return draw(); }, drawn_);
    for (std::size_t i = 0; i < drawn_.size(); ++i) values_[block.free()[i]] = drawn_[i];
  }

  void count(std::vector<double>* counts) {
    if (counts == nullptr) return;
    sites_.count(*counts);
    counted_ += 1;
  }

  void round(std::vector<double>* counts) {
    ++rounds_;
    if (!blocks_.empty()) {
      Block& block = blocks_[rounds_ % blocks_.size()];
      if (block.solve(core_, values_)) keep_drawn(block);
      sites_.place(values_);
      count(counts);
    }
    for (unsigned i = 0; i < kSiteSweeps; ++i) {
      sites_.draw_all(core_.values, values_, [this] { return draw(); });
      count(counts);
    }
  }

  const Network& core_;
  Sites sites_;
  Values values_;
  Values drawn_;
  std::vector<Block> blocks_;
  std::vector<double> counts_;
  double counted_ = 0;
  unsigned rounds_ = 0;
  Numbers numbers_;
};

}  // namespace

bool sample(const Network& network, const std::vector<std::uint32_t>& begin, unsigned rounds,
            const std::function<void(const Elimination&)>& take,
            const std::function<void(const std::vector<std::uint32_t>&)>& keep) {
  Elimination easy;
  easy.plan_down_to_core(network, kEasyTable);
  Network core;
  if (!easy.solve_down_to_core(network, core)) return false;
  Values start;
  for (std::uint32_t variable : easy.core()) start.push_back(begin[variable]);
  Walk walk(core, std::move(start));
  if (!walk.find_start()) return false;
  const unsigned each = std::max(1U, rounds / kBatches);
  Values whole(network.sizes.size());
  Numbers numbers;
  const auto keep_all = [&](const Values& drawn) {
    if (!keep) return;
    for (std::size_t i = 0; i < drawn.size(); ++i) whole[easy.core()[i]] = drawn[i];
    easy.draw_values([&] { return numbers.next(); }, whole);
    keep(whole);
  };
  walk.burn_in(each);
  for (unsigned batch = 0; batch < kBatches; ++batch) {
    easy.come_back_from_core(walk.batch(each, keep_all));
    take(easy);
  }
  return true;
}

void Batches::add(const std::vector<double>& values) {
  sums_.resize(values.size());
  squares_.resize(values.size());
  for (std::size_t i = 0; i < values.size(); ++i) {
    sums_[i] += values[i];
    squares_[i] += values[i] * values[i];
  }
  ++count_;
}

double Batches::error(std::size_t i) const {
  const double mean = sums_[i] / count_;
  return count_ < 2 ? 0 : std::sqrt(std::max(0.0, squares_[i] / count_ - mean * mean) / (count_ - 1));
}

Sampled sample(const Network& network, const std::vector<std::uint32_t>& begin, unsigned rounds) {
  Batches batches;
  Sampled out;
  out.found = sample(network, begin, rounds, [&](const Elimination& drawn) {
    std::vector<double> all;
    for (std::uint32_t v = 0; v < network.sizes.size(); ++v) {
      const auto chances = drawn.chances(v);
      all.insert(all.end(), chances.begin(), chances.end());
    }
    batches.add(all);
  });
  std::size_t at = 0;
  for (std::uint32_t v = 0; out.found && v < network.sizes.size(); ++v) {
    out.chances.emplace_back();
    out.errors.push_back(0);
    for (std::uint32_t x = 0; x < network.sizes[v]; ++x, ++at) {
      out.chances.back().push_back(batches.mean(at));
      out.errors.back() = std::max(out.errors.back(), batches.error(at));
    }
  }
  return out;
}

}  // namespace rackside::core::genetics
