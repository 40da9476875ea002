#include "core/genetics/elimination.h"

#include <algorithm>
#include <cmath>
#include <queue>

namespace rackside::core::genetics {
namespace {

constexpr std::uint32_t kNone = 0xffffffff;
/// Where more variables than this are left when tables become too large, no other order helps.
constexpr std::size_t kFewLeft = 100;

}  // namespace

void Network::clear() {
  sizes.clear();
  factors.clear();
  variables.clear();
  values.clear();
  log_scale = 0;
}

std::uint32_t Network::add_variable(std::uint32_t size) {
  sizes.push_back(size);
  return static_cast<std::uint32_t>(sizes.size() - 1);
}

std::span<double> Network::add_factor(std::span<const std::uint32_t> over, double value) {
  std::size_t entries = 1;
  for (std::uint32_t variable : over) entries *= sizes[variable];
  factors.push_back({static_cast<std::uint32_t>(variables.size()), static_cast<std::uint32_t>(over.size()),
                     static_cast<std::uint32_t>(values.size())});
  variables.insert(variables.end(), over.begin(), over.end());
  values.resize(values.size() + entries, value);
  return {values.data() + factors.back().first_value, entries};
}

void Elimination::connect(const Network& network, std::span<const std::uint32_t> together) {
  const std::size_t count = network.sizes.size();
  if (neighbours_.size() < count) neighbours_.resize(count);
  for (std::size_t i = 0; i < count; ++i) neighbours_[i].clear();
  const auto join = [&](std::span<const std::uint32_t> group) {
    for (std::uint32_t a : group) {
      for (std::uint32_t b : group) {
        if (a != b) neighbours_[a].push_back(b);
      }
    }
  };
  for (const Network::Factor& factor : network.factors) join(network.variables_of(factor));
  join(together);
  for (std::size_t i = 0; i < count; ++i) {
    auto& list = neighbours_[i];
    std::sort(list.begin(), list.end());
    list.erase(std::unique(list.begin(), list.end()), list.end());
  }
}

double Elimination::cost(const Network& network, std::uint32_t variable, Rule rule) const {
  const auto& around = neighbours_[variable];
  double table = network.sizes[variable];
  for (std::uint32_t other : around) table *= network.sizes[other];
  if (rule == Rule::smallest_table) return table;
  std::size_t missing = 0;
  for (std::uint32_t a : around) {
    ++marked_;
    for (std::uint32_t b : neighbours_[a]) mark_[b] = marked_;
    for (std::uint32_t b : around) missing += b > a && mark_[b] != marked_;
  }
  return static_cast<double>(missing) + 1e-9 * std::log2(table);
}

/// Marries the neighbours of a variable that goes.
void Elimination::absorb_neighbours(std::uint32_t variable) {
  const std::vector<std::uint32_t>& around = neighbours_[variable];
  for (std::uint32_t a : around) {
    auto& list = neighbours_[a];
    ++marked_;
    mark_[a] = marked_;
    std::size_t kept = 0;
    for (std::uint32_t b : list) {
      mark_[b] = marked_;
      if (b != variable) list[kept++] = b;
    }
    list.resize(kept);
    for (std::uint32_t b : around) {
      if (mark_[b] != marked_) list.push_back(b);
    }
  }
}

bool Elimination::make_bucket(const Network& network, std::uint32_t variable) {
  Bucket bucket;
  bucket.first_scope = static_cast<std::uint32_t>(scopes_.size());
  bucket.separator = static_cast<std::uint32_t>(neighbours_[variable].size());
  bucket.entries = 1;
  for (std::uint32_t other : neighbours_[variable]) {
    scopes_.push_back(other);
    bucket.entries *= network.sizes[other];
    if (bucket.entries > limit_) return false;
  }
  scopes_.push_back(variable);
  const std::uint64_t table = bucket.entries * network.sizes[variable];
  largest_ = std::max(largest_, table);
  if (table > limit_) return false;
  if (!buckets_.empty()) {
    const Bucket& last = buckets_.back();
    bucket.first_value = last.first_value + last.entries * network.sizes[order_.back()];
    bucket.first_message = last.first_message + last.entries;
  }
  buckets_.push_back(bucket);
  order_.push_back(variable);
  return bucket.first_value + table <= kAllTables;
}

bool Elimination::order(const Network& network, std::span<const std::uint32_t> together, Rule rule) {
  const auto count = static_cast<std::uint32_t>(network.sizes.size());
  connect(network, together);
  order_.clear();
  buckets_.clear();
  scopes_.clear();
  largest_ = 0;
  mark_.assign(count, 0);
  marked_ = 0;
  using Entry = std::pair<double, std::uint32_t>;
  std::priority_queue<Entry, std::vector<Entry>, std::greater<>> queue;
  std::vector<double> current(count);
  for (std::uint32_t i = 0; i < count; ++i) queue.emplace(current[i] = cost(network, i, rule), i);
  while (!queue.empty()) {
    const auto [price, variable] = queue.top();
    queue.pop();
    if (price != current[variable]) continue;
    // The cheapest comes first, so all others would pass the limit as well.
    if (stop_at_limit_ && price > static_cast<double>(limit_)) break;
    const std::size_t scopes = scopes_.size();
    if (!make_bucket(network, variable)) {
      if (!weary_) return false;
      scopes_.resize(scopes);
      const std::uint32_t fixed = fix_one(variable);
      current[fixed] = -1;
      for (std::uint32_t other : neighbours_[fixed]) queue.emplace(current[other] = cost(network, other, rule), other);
      neighbours_[fixed].clear();
      if (fixed != variable) queue.emplace(current[variable], variable);
      continue;
    }
    current[variable] = -1;
    absorb_neighbours(variable);
    for (std::uint32_t other : neighbours_[variable]) {
      const double now = cost(network, other, rule);
      if (now == current[other]) continue;
      queue.emplace(current[other] = now, other);
    }
  }
  return true;
}

/// Takes the most connected one of a clique that is too large out of the graph.
std::uint32_t Elimination::fix_one(std::uint32_t near) {
  std::uint32_t best = near;
  double most = -1;
  for (std::uint32_t other : neighbours_[near]) {
    const double worth = static_cast<double>(neighbours_[other].size()) / (1 + 4.0 * (*weary_)[other]);
    if (worth > most) {
      most = worth;
      best = other;
    }
  }
  for (std::uint32_t other : neighbours_[best]) std::erase(neighbours_[other], best);
  cut_.push_back(best);
  ++(*weary_)[best];
  return best;
}

std::vector<std::uint32_t> Elimination::choose_cut(const Network& network, std::uint64_t limit,
                                                   std::vector<std::uint32_t>& weary) {
  limit_ = limit;
  weary_ = &weary;
  cut_.clear();
  order(network, {}, Rule::smallest_table);
  weary_ = nullptr;
  limit_ = widest_;
  return cut_;
}

bool Elimination::plan(const Network& network, std::span<const std::uint32_t> together) {
  together_.assign(together.begin(), together.end());
  if (!order(network, together, Rule::smallest_table)) {
    const bool hopeless = network.sizes.size() - order_.size() > kFewLeft;
    if (hopeless || !order(network, together, Rule::fewest_new)) return false;
  }
  lay_out(network);
  return true;
}

void Elimination::plan_down_to_core(const Network& network, std::uint64_t limit) {
  together_.clear();
  limit_ = limit;
  stop_at_limit_ = true;
  order(network, {}, Rule::smallest_table);
  stop_at_limit_ = false;
  limit_ = widest_;
  lay_out(network);
}

/// Who gets whose message.
void Elimination::lay_out(const Network& network) {
  sizes_ = network.sizes;
  position_.assign(sizes_.size(), kNone);
  for (std::uint32_t i = 0; i < order_.size(); ++i) position_[order_[i]] = i;
  core_.clear();
  core_of_.assign(sizes_.size(), kNone);
  for (std::uint32_t v = 0; v < sizes_.size(); ++v) {
    if (position_[v] != kNone) continue;
    core_of_[v] = static_cast<std::uint32_t>(core_.size());
    core_.push_back(v);
  }
  bucket_head_.assign(order_.size(), kNone);
  bucket_next_.assign(order_.size(), kNone);
  for (std::uint32_t i = 0; i < order_.size(); ++i) {
    Bucket& bucket = buckets_[i];
    bucket.parent = kNone;
    for (std::uint32_t other : separator_of(bucket)) bucket.parent = std::min(bucket.parent, position_[other]);
    if (bucket.parent == kNone) continue;
    bucket_next_[i] = bucket_head_[bucket.parent];
    bucket_head_[bucket.parent] = i;
  }
}

/// For each variable of the bucket, by how much the place in a table over `over` moves when its value rises by one.
void Elimination::strides_for(const Bucket& bucket, std::span<const std::uint32_t> over) const {
  const std::uint32_t width = bucket.separator + 1;
  strides_.assign(width, 0);
  counter_.assign(width, 0);
  std::uint64_t stride = 1;
  for (std::size_t i = over.size(); i-- > 0;) {
    for (std::uint32_t at = 0; at < width; ++at) {
      if (scopes_[bucket.first_scope + at] == over[i]) strides_[at] = stride;
    }
    stride *= sizes_[over[i]];
  }
}

void Elimination::multiply(const Bucket& into, std::span<const std::uint32_t> over, const double* values) {
  strides_for(into, over);
  const std::uint32_t* scope = scopes_.data() + into.first_scope;
  const std::uint32_t inner = sizes_[scope[into.separator]];
  const std::uint64_t step = strides_[into.separator];
  double* table = tables_.data() + into.first_value;
  std::uint64_t at = 0;
  for (std::uint64_t row = 0; row < into.entries; ++row) {
    for (std::uint32_t x = 0; x < inner; ++x) *table++ *= values[at + x * step];
    for (std::uint32_t i = into.separator; i-- > 0;) {
      at += strides_[i];
      if (++counter_[i] < sizes_[scope[i]]) break;
      at -= strides_[i] * sizes_[scope[i]];
      counter_[i] = 0;
    }
  }
}

void Elimination::sum_onto(const Bucket& from, const double* table, std::span<const std::uint32_t> over,
                           double* out) const {
  strides_for(from, over);
  const std::uint32_t* scope = scopes_.data() + from.first_scope;
  const std::uint32_t inner = sizes_[scope[from.separator]];
  const std::uint64_t step = strides_[from.separator];
  std::uint64_t at = 0;
  for (std::uint64_t row = 0; row < from.entries; ++row) {
    for (std::uint32_t x = 0; x < inner; ++x) out[at + x * step] += *table++;
    for (std::uint32_t i = from.separator; i-- > 0;) {
      at += strides_[i];
      if (++counter_[i] < sizes_[scope[i]]) break;
      at -= strides_[i] * sizes_[scope[i]];
      counter_[i] = 0;
    }
  }
}

bool Elimination::forward(const Network& network) {
  const auto count = static_cast<std::uint32_t>(order_.size());
  factor_head_.assign(count, kNone);
  factor_next_.assign(network.factors.size(), kNone);
  for (std::uint32_t f = 0; f < network.factors.size(); ++f) {
    std::uint32_t first = kNone;
    for (std::uint32_t variable : network.variables_of(network.factors[f]))
      first = std::min(first, position_[variable]);
    if (first == kNone && network.factors[f].count > 0) continue;  // the core's
    if (first == kNone) {
      const double value = network.values[network.factors[f].first_value];
      if (value <= 0) return false;
      log_sum_ += std::log(value);
      continue;
    }
    factor_next_[f] = factor_head_[first];
    factor_head_[first] = f;
  }
  for (std::uint32_t i = 0; i < count; ++i) {
    const Bucket& bucket = buckets_[i];
    for (std::uint32_t f = factor_head_[i]; f != kNone; f = factor_next_[f]) {
      multiply(bucket, network.variables_of(network.factors[f]),
               network.values.data() + network.factors[f].first_value);
    }
    for (std::uint32_t child = bucket_head_[i]; child != kNone; child = bucket_next_[child]) {
      multiply(bucket, separator_of(buckets_[child]), messages_.data() + buckets_[child].first_message);
    }
    const double* table = tables_.data() + bucket.first_value;
    double* message = messages_.data() + bucket.first_message;
    double most = 0;
    for (std::uint64_t row = 0; row < bucket.entries; ++row) {
      double sum = 0;
      for (std::uint32_t x = 0; x < sizes_[order_[i]]; ++x) sum += *table++;
      message[row] = sum;
      most = std::max(most, sum);
    }
    if (!(most > 0)) return false;
    // Scaled, so that thousands of young do not make it underflow.
    for (std::uint64_t row = 0; row < bucket.entries; ++row) message[row] /= most;
    log_sum_ += std::log(most);
  }
  return true;
}

template <typename Do>
void Elimination::walk_home(std::uint32_t home, std::span<const std::uint32_t> over, Do&& act) const {
  const auto& scope = home_scopes_[home];
  std::vector<std::uint64_t> strides(scope.size(), 0);
  std::vector<std::uint32_t> counter(scope.size(), 0);
  std::uint64_t stride = 1;
  std::uint64_t entries = 1;
  for (std::size_t i = over.size(); i-- > 0;) {
    for (std::size_t at = 0; at < scope.size(); ++at) strides[at] += scope[at] == over[i] ? stride : 0;
    stride *= sizes_[over[i]];
  }
  for (std::uint32_t variable : scope) entries *= sizes_[variable];
  std::uint64_t at = 0;
  for (std::uint64_t cell = 0; cell < entries; ++cell) {
    act(cell, at);
    for (std::size_t i = scope.size(); i-- > 0;) {
      at += strides[i];
      if (++counter[i] < sizes_[scope[i]]) break;
      at -= strides[i] * sizes_[scope[i]];
      counter[i] = 0;
    }
  }
}

/// From the last variable back: each table becomes the joint chances of its variables. A message is replaced by what
/// its bucket must be multiplied with: the parent's chances of the separator over the message sent. In place, or, where
/// there is a core, from the tables and messages that stay.
void Elimination::backward(std::vector<double>& tables, std::vector<double>& messages) {
  std::vector<double> chances;
  for (std::size_t i = order_.size(); i-- > 0;) {
    const Bucket& bucket = buckets_[i];
    const double* from = tables_.data() + bucket.first_value;
    double* table = tables.data() + bucket.first_value;
    const double* ratio = messages.data() + bucket.first_message;
    const std::uint32_t inner = sizes_[order_[i]];
    double* marginal = marginals_.data() + first_marginal_[order_[i]];
    double all = 0;
    const bool top = bucket.parent == kNone && (core_.empty() || bucket.separator == 0);
    for (std::uint64_t row = 0; row < bucket.entries; ++row) {
      for (std::uint32_t x = 0; x < inner; ++x) {
        double& cell = table[row * inner + x];
        cell = top ? from[row * inner + x] : from[row * inner + x] * ratio[row];
        marginal[x] += cell;
        all += cell;
      }
    }
    for (std::uint32_t x = 0; x < inner; ++x) marginal[x] /= all;
    for (std::uint64_t cell = 0; cell < bucket.entries * inner; ++cell) table[cell] /= all;
    for (std::uint32_t child = bucket_head_[i]; child != kNone; child = bucket_next_[child]) {
      const Bucket& below = buckets_[child];
      chances.assign(below.entries, 0);
      sum_onto(bucket, table, separator_of(below), chances.data());
      for (std::uint64_t row = 0; row < below.entries; ++row) {
        const double sent = messages_[below.first_message + row];
        messages[below.first_message + row] = sent > 0 ? chances[row] / sent : 0;
      }
    }
  }
}

std::uint32_t Elimination::home_of(std::span<const std::uint32_t> over) const {
  for (std::uint32_t home : homes_of_[core_of_[over.front()]]) {
    const auto& scope = home_scopes_[home];
    const auto holds = [&](std::uint32_t v) { return std::find(scope.begin(), scope.end(), v) != scope.end(); };
    if (std::all_of(over.begin(), over.end(), holds)) return home;
  }
  return kNone;
}

void Elimination::joint_of(std::span<const std::uint32_t> over, std::vector<double>& out) const {
  std::size_t entries = 1;
  std::uint32_t first = kNone;
  for (std::uint32_t variable : over) {
    entries *= sizes_[variable];
    first = std::min(first, position_[variable]);
  }
  out.assign(entries, 0);
  if (first != kNone) {
    const Bucket& bucket = buckets_[first];
    sum_onto(bucket, (from_core_ ? joints_ : tables_).data() + bucket.first_value, over, out.data());
  } else if (!over.empty()) {
    const std::uint32_t home = home_of(over);
    sum_home(home, over, out.data());
  }
}

void Elimination::reserve() {
  log_sum_ = 0;
  from_core_ = false;
  const std::size_t count = sizes_.size();
  first_marginal_.assign(count + 1, 0);
  for (std::size_t i = 0; i < count; ++i) first_marginal_[i + 1] = first_marginal_[i] + sizes_[i];
  marginals_.assign(first_marginal_[count], 0);
  std::uint64_t values = 0;
  std::uint64_t messages = 0;
  if (!buckets_.empty()) {
    const Bucket& last = buckets_.back();
    values = last.first_value + last.entries * sizes_[order_.back()];
    messages = last.first_message + last.entries;
  }
  tables_.assign(values, 1);
  messages_.resize(messages);
}

Elimination::Outcome Elimination::solve(const Network& network) {
  reserve();
  log_sum_ = network.log_scale;
  if (!forward(network)) return Outcome::impossible;
  backward(tables_, messages_);
  joint_of(together_, joint_);
  return Outcome::solved;
}

bool Elimination::solve_for_drawing(const Network& network) {
  reserve();
  return forward(network);
}

/// Into the core's factor that holds all these variables already, or as a new one.
std::uint32_t Elimination::add_core_factor(std::span<const std::uint32_t> over, const double* values, Network& core) {
  std::uint32_t home = home_of(over);
  std::vector<std::uint32_t> places;
  if (home == kNone) {
    home = static_cast<std::uint32_t>(core.factors.size());
    for (std::uint32_t variable : over) {
      places.push_back(core_of_[variable]);
      homes_of_[places.back()].push_back(home);
    }
    home_scopes_.emplace_back(over.begin(), over.end());
    core.add_factor(places, 1);
    home_first_.push_back(core.factors.back().first_value);
  }
  multiply_home(home, over, values, core.values.data() + home_first_[home]);
  return home;
}

bool Elimination::solve_down_to_core(const Network& network, Network& core) {
  reserve();
  log_sum_ = network.log_scale;
  if (!forward(network)) return false;
  core.clear();
  homes_of_.assign(core_.size(), {});
  home_scopes_.clear();
  home_first_.clear();
  core_home_.assign(order_.size(), kNone);
  for (std::uint32_t variable : core_) core.add_variable(sizes_[variable]);
  struct Part {
    std::span<const std::uint32_t> over;
    const double* values;
    std::uint32_t bucket;
  };
  std::vector<Part> parts;
  for (const Network::Factor& factor : network.factors) {
    const auto over = network.variables_of(factor);
    const bool inside = std::all_of(over.begin(), over.end(), [&](std::uint32_t v) { return position_[v] == kNone; });
    if (inside && !over.empty()) parts.push_back({over, network.values.data() + factor.first_value, kNone});
  }
  for (std::uint32_t i = 0; i < order_.size(); ++i) {
    const Bucket& bucket = buckets_[i];
    if (bucket.parent == kNone && bucket.separator > 0)
      parts.push_back({separator_of(bucket), messages_.data() + bucket.first_message, i});
  }
  // The widest first, so that the others find a place in them.
  std::stable_sort(parts.begin(), parts.end(),
                   [](const Part& a, const Part& b) { return a.over.size() > b.over.size(); });
  for (const Part& part : parts) {
    const std::uint32_t home = add_core_factor(part.over, part.values, core);
    if (part.bucket != kNone) core_home_[part.bucket] = home;
  }
  return true;
}

void Elimination::come_back_from_core(std::span<const double> values) {
  from_core_ = true;
  core_chances_.assign(values.begin(), values.end());
  joints_.resize(tables_.size());
  ratios_.resize(messages_.size());
  std::fill(marginals_.begin(), marginals_.end(), 0);
  for (std::uint32_t variable : core_) {
    const std::uint32_t home = home_of({&variable, 1});
    if (home != kNone) sum_home(home, {&variable, 1}, marginals_.data() + first_marginal_[variable]);
  }
  std::vector<double> chances;
  for (std::uint32_t i = 0; i < order_.size(); ++i) {
    if (core_home_[i] == kNone) continue;
    const Bucket& bucket = buckets_[i];
    chances.assign(bucket.entries, 0);
    sum_home(core_home_[i], separator_of(bucket), chances.data());
    for (std::uint64_t row = 0; row < bucket.entries; ++row) {
      const double sent = messages_[bucket.first_message + row];
      ratios_[bucket.first_message + row] = sent > 0 ? chances[row] / sent : 0;
    }
  }
  backward(joints_, ratios_);
}

void Elimination::multiply_home(std::uint32_t home, std::span<const std::uint32_t> over, const double* values,
                                double* into) const {
  walk_home(home, over, [&](std::uint64_t cell, std::uint64_t at) { into[cell] *= values[at]; });
}

void Elimination::sum_home(std::uint32_t home, std::span<const std::uint32_t> over, double* out) const {
  const double* from = core_chances_.data() + home_first_[home];
  walk_home(home, over, [&](std::uint64_t cell, std::uint64_t at) { out[at] += from[cell]; });
}

}  // namespace rackside::core::genetics
