#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>

#include "core/genetics/inference_work.h"
#include "core/genetics/numbers.h"

namespace rackside::core::genetics {
namespace {

/// With fewer draws that count than this all is drawn anew.
constexpr double kLeastDraws = 20;

}  // namespace

void Inference::Work::keep_draws(std::unique_ptr<Draws> draws) {
  const auto number = static_cast<std::uint32_t>(draws_.size());
  const auto& variables = component_->variables();
  for (std::uint32_t i = 0; i < variables.size(); ++i) {
    if (variables[i].locus == Variable::kShared) {
      draws->add_choice(shared_[variables[i].index].node);
      continue;
    }
    auto& row = in_draws_[variables[i].locus];
    row.resize(pedigree_.nodes.size());
    row[variables[i].index] = {number, i};
  }
  draws_.push_back(std::move(draws));
}

Inference::Work::Place Inference::Work::place_in_draws(std::uint16_t locus, NodeIndex node) const {
  const auto& row = in_draws_[locus];
  return node < row.size() ? row[node] : Place{};
}

/// Its own, or of a young in a litter its parents'.
std::uint32_t Inference::Work::draws_of(std::uint16_t locus, NodeIndex node) const {
  if (const Place own = place_in_draws(locus, node); own.draws != kNoDraws) return own.draws;
  if (litters_.of_young[node] == Litters::kNone || !fields_[locus].family_counts(pedigree_, node)) return kNoDraws;
  const Pedigree::Node& one = pedigree_.nodes[node];
  const Place sire = place_in_draws(locus, one.sire);
  return sire.draws != kNoDraws ? sire.draws : place_in_draws(locus, one.dam).draws;
}

std::optional<std::size_t> Inference::Work::state_in(std::uint32_t draws, std::size_t draw, std::uint16_t locus,
                                                     NodeIndex node) const {
  const Field& field = fields_[locus];
  const Place place = place_in_draws(locus, node);
  if (place.draws == draws) return draws_[draws]->state(draw, place.variable);
  if (field.open(node)) return std::nullopt;
  return static_cast<std::size_t>(std::countr_zero(field.domain(node)));
}

/// Of a variable the state that was drawn, of a young in a litter its chances given its parents' states.
bool Inference::Work::chances_in(std::uint32_t draws, std::size_t draw, std::uint16_t locus, NodeIndex node,
                                 std::vector<double>& out) const {
  const Field& field = fields_[locus];
  out.assign(field.states().size(), 0);
  if (place_in_draws(locus, node).draws == draws) {
    out[*state_in(draws, draw, locus, node)] = 1;
    return true;
  }
  const auto sire = state_in(draws, draw, locus, pedigree_.nodes[node].sire);
  const auto dam = state_in(draws, draw, locus, pedigree_.nodes[node].dam);
  if (!sire || !dam) return false;
  double all = 0;
  for (const States::Child& child : field.states().young(*sire, *dam)) {
    if (!(field.domain(node) >> child.state & 1)) continue;
    out[child.state] = child.chance * field.weights(node)[child.state];
    all += out[child.state];
  }
  for (double& one : out) one = all > 0 ? one / all : 0;
  return all > 0;
}

bool Inference::Work::is_reweighed(std::uint16_t locus, NodeIndex node) const {
  const std::uint32_t draws = draws_of(locus, node);
  return draws != kNoDraws && draws_[draws]->reweighed();
}

bool Inference::Work::is_held(std::uint16_t locus, NodeIndex node) const {
  return !held_.empty() && held_.contains(place_in_draws(locus, node).draws);
}

/// The new weights move the chances that were found with equal ones: less is lost than by starting from the kept draws
/// alone.
Inference::Work::Shift Inference::Work::shift_of(std::uint16_t locus, NodeIndex node) const {
  const std::uint32_t number = draws_of(locus, node);
  const Draws& draws = *draws_[number];
  const std::size_t n = fields_[locus].states().size();
  const bool is_new = place_[locus][node] == kNoPlace;
  const double equal = is_new ? 0 : 1 / static_cast<double>(draws.size());
  std::vector<std::vector<double>> drawn(draws.size());
  std::vector<double> mean(n);
  Shift out{std::vector<double>(n), 0};
  for (std::size_t i = 0; i < draws.size(); ++i) {
    if (!chances_in(number, i, locus, node, drawn[i])) continue;
    for (std::size_t x = 0; x < n; ++x) {
      mean[x] += draws.weight(i) * drawn[i][x];
      out.chances[x] += (draws.weight(i) - equal) * drawn[i][x];
    }
  }
  for (std::size_t x = 0; x < n; ++x) {
    double squares = 0;
    for (std::size_t i = 0; i < draws.size(); ++i) {
      const double part = (draws.weight(i) - equal) * (drawn[i][x] - mean[x]);
      squares += part * part;
    }
    out.error = std::max(out.error, std::sqrt(squares));
  }
  return out;
}

double Inference::Work::draws_behind(NodeIndex first, NodeIndex second, std::uint16_t locus) const {
  double out = std::numeric_limits<double>::infinity();
  for (NodeIndex node : {first, second}) {
    if (const std::uint32_t number = draws_of(locus, node); number != kNoDraws)
      out = std::min(out, draws_[number]->effective());
  }
  return out;
}

/// What two can be together by one draw: of who is in none, by its own odds.
bool Inference::Work::one_draw(NodeIndex first, NodeIndex second, std::uint16_t locus, std::size_t draw,
                               Joint& out) const {
  const auto chances_of = [&](NodeIndex node, std::vector<double>& chances) {
    const std::uint32_t number = draws_of(locus, node);
    if (number != kNoDraws) return chances_in(number, draw % draws_[number]->size(), locus, node, chances);
    chances = odds(node, locus);
    return !chances.empty();
  };
  std::vector<double> his;
  std::vector<double> hers;
  if (!chances_of(first, his) || !chances_of(second, hers)) return false;
  const std::size_t n = his.size();
  out.chances.assign(n * n, 0);
  for (std::size_t a = 0; a < n; ++a) {
    for (std::size_t b = 0; b < n; ++b) {
      if (first != second || a == b) out.chances[a * n + b] = first == second ? his[a] : his[a] * hers[b];
    }
  }
  return true;
}

namespace {

/// Brings the sums of rows and columns to what they must be, changing as little as may be. Source: Deming and Stephan
/// 1940, Annals of Mathematical Statistics 11:427-444 (iterative proportional fitting).
void fit(std::vector<double>& table, const std::vector<double>& rows, const std::vector<double>& columns) {
  constexpr int kRounds = 50;
  const std::size_t n = rows.size();
  const auto scale = [&](const std::vector<double>& to, std::size_t step, std::size_t within) {
    for (std::size_t i = 0; i < n; ++i) {
      double sum = 0;
      for (std::size_t j = 0; j < n; ++j) sum += table[i * step + j * within];
      for (std::size_t j = 0; j < n && sum > 0; ++j) table[i * step + j * within] *= to[i] / sum;
    }
  };
  for (int round = 0; round < kRounds; ++round) {
    scale(rows, n, 1);
    scale(columns, 1, n);
  }
}

}  // namespace

/// The odds of each of the two are known better than what ties them: the draws' table is fitted to them. What they
/// never showed of one animal is taken as independent of the other.
Joint Inference::Work::drawn_joint(NodeIndex first, NodeIndex second, std::uint16_t locus) const {
  const std::vector<double> his = odds(first, locus);
  const std::vector<double> hers = odds(second, locus);
  const std::size_t n = his.size();
  if (n == 0 || hers.empty()) return {};
  Joint out{std::vector<double>(n * n), draws_behind(first, second, locus)};
  if (first == second) {
    for (std::size_t a = 0; a < n; ++a) out.chances[a * n + a] = his[a];
    return out;
  }
  const std::uint32_t number = draws_of(locus, first);
  const bool together = number != kNoDraws && number == draws_of(locus, second);
  std::vector<double> rows(n);
  std::vector<double> columns(n);
  for (std::size_t i = 0; together && i < draws_[number]->size(); ++i) {
    Joint here;
    if (!one_draw(first, second, locus, i, here)) return {};
    for (std::size_t at = 0; at < n * n; ++at) {
      const double chance = draws_[number]->weight(i) * here.chances[at];
      out.chances[at] += chance;
      rows[at / n] += chance;
      columns[at % n] += chance;
    }
  }
  for (std::size_t at = 0; at < n * n; ++at) {
    if (rows[at / n] == 0 || columns[at % n] == 0) out.chances[at] += his[at / n] * hers[at % n];
  }
  fit(out.chances, his, hers);
  return out;
}

/// Where several of the loci hang on the same draws, each draw is a case, so that what ties the loci counts; else the
/// loci are independent, and there is one.
std::vector<Inference::Case> Inference::Work::drawn_cases(NodeIndex first, NodeIndex second,
                                                          std::span<const std::uint16_t> loci) const {
  std::map<std::uint32_t, std::size_t> uses;
  for (std::uint16_t locus : loci) {
    std::set<std::uint32_t> here{draws_of(locus, first), draws_of(locus, second)};
    here.erase(kNoDraws);
    for (std::uint32_t number : here) ++uses[number];
  }
  std::size_t cases = 1;
  for (const auto& [number, times] : uses) {
    if (times > 1) cases = std::max(cases, draws_[number]->size());
  }
  std::vector<Case> out;
  double all = 0;
  for (std::size_t i = 0; i < cases; ++i) {
    Case made;
    for (const auto& [number, times] : uses)
      made.chance *= times > 1 ? draws_[number]->weight(i % draws_[number]->size()) : 1;
    for (std::uint16_t locus : loci) {
      const bool tied = uses[draws_of(locus, first)] > 1 || uses[draws_of(locus, second)] > 1;
      Joint here;
      if (!tied) {
        here = drawn_joint(first, second, locus);
      } else if (!one_draw(first, second, locus, i, here)) {
        return {};
      }
      if (here.chances.empty()) return {};
      here.draws = draws_behind(first, second, locus);
      made.at.push_back(std::move(here));
    }
    all += made.chance;
    out.push_back(std::move(made));
  }
  if (all <= 0) return {};
  for (Case& one : out) one.chance /= all;
  return out;
}

/// An animal that has its first young was no variable: it becomes one, drawn from its chances given its parents. What
/// its young now rule out weighs the draws.
void Inference::Work::take_into_draws(std::uint16_t locus, NodeIndex node, std::set<std::uint32_t>& weighed,
                                      std::set<std::uint32_t>& spoilt) {
  const Field& field = fields_[locus];
  const Pedigree::Node& one = pedigree_.nodes[node];
  const Place sire_place = place_in_draws(locus, one.sire);
  const std::uint32_t number = sire_place.draws != kNoDraws ? sire_place.draws : place_in_draws(locus, one.dam).draws;
  if (number == kNoDraws) return;
  Draws& draws = *draws_[number];
  std::vector<std::uint8_t> states;
  std::vector<double> weights;
  Numbers numbers((std::uint64_t{node} << 16) + locus);
  for (std::size_t i = 0; i < draws.size(); ++i) {
    const auto sire = state_in(number, i, locus, one.sire);
    const auto dam = state_in(number, i, locus, one.dam);
    if (!sire || !dam) {
      spoilt.insert(number);
      return;
    }
    double all = 0;
    double left_over = 0;
    for (const States::Child& child : field.states().young(*sire, *dam)) {
      const double chance = child.chance * field.weights(node)[child.state];
      all += chance;
      left_over += field.domain(node) >> child.state & 1 ? chance : 0;
    }
    weights.push_back(all > 0 ? left_over / all : 0);
    double left = numbers.next() * left_over;
    std::uint8_t state = static_cast<std::uint8_t>(std::countr_zero(field.domain(node)));
    for (const States::Child& child : field.states().young(*sire, *dam)) {
      const double chance = child.chance * field.weights(node)[child.state];
      if (!(field.domain(node) >> child.state & 1) || chance <= 0) continue;
      state = child.state;
      if ((left -= chance) < 0) break;
    }
    states.push_back(state);
  }
  for (std::size_t i = 0; i < draws.size(); ++i) draws.weigh(i, weights[i]);
  auto& row = in_draws_[locus];
  row.resize(pedigree_.nodes.size());
  row[node] = {number, draws.add_variable(states)};
  place_[locus][node] = kNoPlace;
  weighed.insert(number);
}

/// What one touched genotype says to the draws that it hangs on.
void Inference::Work::reweigh_by(std::uint16_t locus, NodeIndex node, NodeIndex first, bool spoken_of,
                                 std::set<std::uint32_t>& weighed, std::set<std::uint32_t>& spoilt) {
  const Field& field = fields_[locus];
  const Pedigree::Node& one = pedigree_.nodes[node];
  const Place own = place_in_draws(locus, node);
  const bool simple = litters_.of_young[node] != Litters::kNone && field.family_counts(pedigree_, node);
  const bool is_new = node >= first;
  if (!is_new && own.draws == kNoDraws && !spoken_of) {
    // An animal that had young before and is no variable was certain, and stays so.
    const auto& children = pedigree_.children[node];
    const bool had_young =
        std::any_of(children.begin(), children.end(), [&](NodeIndex young) { return young < first; });
    const bool in_litter = litters_.of_young[node] != Litters::kNone;
    if (one.sire != kNoNode && !had_young && !in_litter && field.family_counts(pedigree_, node))
      take_into_draws(locus, node, weighed, spoilt);
    return;
  }
  if (is_new && simple) {
    std::set<std::uint32_t> of;
    for (NodeIndex parent : {one.sire, one.dam}) {
      const Place place = place_in_draws(locus, parent);
      if (place.draws != kNoDraws || field.open(parent)) of.insert(place.draws);
    }
    if (of.empty() || of == std::set{kNoDraws}) return;
    if (of.size() > 1) {
      spoilt.insert(of.begin(), of.end());
      return;
    }
    Draws& draws = *draws_[*of.begin()];
    const Component::Alike young{node, field.weights_index(node), field.domain(node), 1};
    for (std::size_t i = 0; i < draws.size(); ++i) {
      const auto sire = state_in(*of.begin(), i, locus, one.sire);
      const auto dam = state_in(*of.begin(), i, locus, one.dam);
      draws.weigh(i, Component::likelihood(field, young, *sire, *dam));
    }
    weighed.insert(*of.begin());
    return;
  }
  if (!is_new && !spoken_of) {
    Draws& draws = *draws_[own.draws];
    for (std::size_t i = 0; i < draws.size(); ++i)
      draws.weigh(i, field.domain(node) >> draws.state(i, own.variable) & 1 ? 1 : 0);
    weighed.insert(own.draws);
    return;
  }
  for (NodeIndex near : {node, one.sire, one.dam}) {
    if (near != kNoNode) spoilt.insert(place_in_draws(locus, near).draws);
  }
  if (one.choice != kNoSiring) {
    for (NodeIndex sire : pedigree_.candidates[one.choice]) spoilt.insert(place_in_draws(locus, sire).draws);
  }
}

/// Weighs the kept draws by what is new. Where that is enough they are held; else they are drawn anew.
void Inference::Work::reweigh(const std::vector<std::vector<NodeIndex>>& touched, NodeIndex first,
                              const std::vector<NodeIndex>& spoken_of) {
  held_.clear();
  if (draws_.empty()) return;
  std::set<std::uint32_t> weighed;
  std::set<std::uint32_t> spoilt;
  for (std::uint16_t locus : again_) {
    for (const Place& place : in_draws_[locus]) spoilt.insert(place.draws);
  }
  for (std::uint16_t locus = 0; locus < fields_.size(); ++locus) {
    std::vector<NodeIndex> once = touched[locus];
    std::sort(once.begin(), once.end());
    once.erase(std::unique(once.begin(), once.end()), once.end());
    for (NodeIndex node : once) {
      const bool spoken = std::find(spoken_of.begin(), spoken_of.end(), node) != spoken_of.end();
      reweigh_by(locus, node, first, spoken, weighed, spoilt);
    }
  }
  for (std::uint32_t one : weighed) {
    if (draws_[one]->settle() >= kLeastDraws && !spoilt.contains(one)) held_.insert(one);
  }
}

}  // namespace rackside::core::genetics
