#include "core/genetics/pairing.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

namespace rackside::core::genetics {
namespace {

/// The chance of a row and, of that, the part with one copy of an allele, by locus and allele.
struct RowSum {
  double chance = 0;
  std::vector<std::vector<double>> het;
};
/// By the looks at each locus.
using Rows = std::map<std::vector<std::uint16_t>, RowSum>;

void add_row(RowSum& to, const RowSum& more) {
  to.chance += more.chance;
  if (to.het.empty()) to.het.resize(more.het.size());
  for (std::size_t i = 0; i < more.het.size(); ++i) {
    to.het[i].resize(more.het[i].size());
    for (std::size_t a = 0; a < more.het[i].size(); ++a) to.het[i][a] += more.het[i][a];
  }
}

/// Young of this sex, and of either where the locus does not tell them apart.
bool is_of(const States& states, std::size_t state, Sex sex) {
  return sex == Sex::unknown || !states.sex_matters() || (states.of_sex(sex) >> state & 1) != 0;
}

/// Of all living young: those of this sex that look so.
double chance_of_look(const States& states, std::size_t sire, std::size_t dam, std::uint8_t look,
                      Sex sex = Sex::unknown) {
  double out = 0;
  for (const States::Child& child : states.young(sire, dam)) {
    if (states.look(child.state) == look && is_of(states, child.state, sex)) out += child.chance;
  }
  return out;
}

double share_of(const States& states, std::size_t sire, std::size_t dam, Sex sex) {
  double out = 0;
  for (const States::Child& child : states.young(sire, dam)) out += is_of(states, child.state, sex) ? child.chance : 0;
  return out;
}

/// Calls with each pair of states and its chance.
template <typename Do>
void each_pair(const Joint& joint, std::size_t states, Do&& act) {
  for (std::size_t s = 0; s < states; ++s) {
    for (std::size_t d = 0; d < states; ++d) {
      if (joint.chances[s * states + d] > 0) act(s, d, joint.chances[s * states + d]);
    }
  }
}

bool only_wild(const States& states, const std::vector<double>& odds) {
  for (std::size_t i = 0; i < odds.size(); ++i) {
    if (odds[i] > 0 && !(states.wild() >> i & 1)) return false;
  }
  return true;
}

/// Half of all eggs, where sexes are told apart.
constexpr double kSexes = 2;

/// Of young of this sex.
LocusForecast forecast_at(const Inference& inference, std::uint16_t locus, const Joint& joint, Sex sex = Sex::unknown) {
  const States& states = inference.states(locus);
  const Locus& where = inference.species().loci[locus];
  LocusForecast out{.locus = locus};
  out.states.assign(states.size(), 0);
  out.looks.assign(where.looks.size(), 0);
  const bool told_apart = sex != Sex::unknown && states.sex_matters();
  double all = 0;
  double living = 0;
  each_pair(joint, states.size(), [&](std::size_t s, std::size_t d, double chance) {
    all += chance;
    if (!told_apart) out.lost += chance * states.lost(s, d);
    for (const States::Child& child : states.young(s, d)) {
      // Of living young: a pair that loses more has fewer of them.
      const double alive = chance * child.chance * (1 - states.lost(s, d));
      if (is_of(states, child.state, sex)) out.states[child.state] += alive * (told_apart ? kSexes : 1);
      if (is_of(states, child.state, sex)) living += alive * (told_apart ? kSexes : 1);
    }
  });
  if (told_apart) out.lost = std::max(0.0, all - living);
  for (std::size_t i = 0; i < states.size(); ++i) {
    if (out.lost < 1) out.states[i] /= 1 - out.lost;
    out.looks[states.look(i)] += out.states[i];
  }
  out.het_given_look.assign(where.looks.size(), std::vector<std::optional<double>>(where.alleles.size()));
  for (std::size_t look = 0; look < where.looks.size(); ++look) {
    if (out.looks[look] <= 0) continue;
    for (std::size_t a = 1; a < where.alleles.size(); ++a) {
      double het = 0;
      for (std::size_t i = 0; i < states.size(); ++i) {
        const bool one = states.copies(i, static_cast<AlleleIndex>(a)) == 1 && !states[i].single;
        if (states.look(i) == look && one) het += out.states[i];
      }
      out.het_given_look[look][a] = het / out.looks[look];
    }
  }
  return out;
}

/// The variance of the mean over the draws of what a living young of the pair looks like, of the look that varies most.
double variance_at(const Inference& inference, std::uint16_t locus, const Joint& joint) {
  if (joint.draws <= 0) return 0;
  const States& states = inference.states(locus);
  double most = 0;
  for (std::size_t look = 0; look < inference.species().loci[locus].looks.size(); ++look) {
    double mean = 0;
    double square = 0;
    each_pair(joint, states.size(), [&](std::size_t s, std::size_t d, double p) {
      const double chance = chance_of_look(states, s, d, static_cast<std::uint8_t>(look));
      mean += p * chance;
      square += p * chance * chance;
    });
    most = std::max(most, square - mean * mean);
  }
  // What no draw showed may be all the same.
  return std::max(most / joint.draws, 1e-18);
}

void add_harms(const Inference& inference, std::uint16_t locus, const Joint& joint, std::vector<Harm>& out) {
  const Locus& where = inference.species().loci[locus];
  const States& states = inference.states(locus);
  for (AlleleIndex b = 1; b < where.alleles.size(); ++b) {
    for (AlleleIndex a = 0; a <= b; ++a) {
      const Pair& pair = where.pair(a, b);
      if (pair.viable && pair.harm.empty()) continue;
      double chance = 0;
      each_pair(joint, states.size(), [&](std::size_t s, std::size_t d, double p) {
        if (!pair.viable) {
          chance += p * states.lost_to(s, d, a, b);
          return;
        }
        for (const States::Child& child : states.young(s, d)) {
          const State& state = states[child.state];
          if (std::minmax(state.a, state.b) == std::minmax(a, b)) chance += p * child.chance * (1 - states.lost(s, d));
        }
      });
      if (chance <= 0) continue;
      out.push_back({locus, where.alleles[b].name + "/" + where.alleles[a].name, pair.harm,
                     sentence_of(pair.harm_source), chance, !pair.viable,
                     pair.harm_source.kind == Source::Kind::published});
    }
  }
}

/// Multiplies the table out locus by locus; loci are independent given a case and, where sex-linked, the young's sex.
void add_rows(const Inference& inference, const std::vector<std::uint16_t>& loci, const Inference::Case& one, Sex sex,
              double weight, Rows& rows) {
  std::vector<LocusForecast> all;
  std::map<std::vector<std::uint16_t>, double> made{{{}, weight}};
  for (std::size_t i = 0; i < loci.size(); ++i) {
    all.push_back(forecast_at(inference, loci[i], one.at[i], sex));
    const LocusForecast& here = all.back();
    std::map<std::vector<std::uint16_t>, double> next;
    for (const auto& [looks, chance] : made) {
      for (std::size_t look = 0; look < here.looks.size(); ++look) {
        const double both = chance * here.looks[look];
        if (both < kLeastRow) continue;
        std::vector<std::uint16_t> longer = looks;
        longer.push_back(static_cast<std::uint16_t>(look));
        next[longer] += both;
      }
    }
    made = std::move(next);
    if (made.size() <= kMostRows) continue;
    std::vector<double> chances;
    for (const auto& [looks, chance] : made) chances.push_back(chance);
    std::nth_element(chances.begin(), chances.begin() + kMostRows, chances.end(), std::greater<>());
    std::erase_if(made, [&](const auto& row) { return row.second < chances[kMostRows]; });
  }
  for (const auto& [looks, chance] : made) {
    RowSum sum{.chance = chance, .het = {}};
    for (std::size_t i = 0; i < loci.size(); ++i) {
      sum.het.emplace_back();
      for (const std::optional<double>& het : all[i].het_given_look[looks[i]])
        sum.het.back().push_back(chance * het.value_or(0));
    }
    add_row(rows[looks], sum);
  }
}

/// Sums of many products miss one another by rounding.
constexpr double kRounding = 1e-9;

bool are_alike(const RowSum& one, const RowSum& other) {
  if (std::abs(one.chance - other.chance) > kRounding) return false;
  for (std::size_t i = 0; i < one.het.size(); ++i) {
    for (std::size_t a = 0; a < one.het[i].size(); ++a) {
      if (std::abs(one.het[i][a] - (other.het.empty() ? 0 : other.het[i][a])) > kRounding) return false;
    }
  }
  return true;
}

/// Of both sexes the same, in what shows and in what does not.
bool are_alike(const Rows& males, const Rows& females) {
  const auto holds = [](const Rows& some, const Rows& others) {
    return std::all_of(some.begin(), some.end(), [&](const auto& row) {
      const auto other = others.find(row.first);
      return are_alike(row.second, other == others.end() ? RowSum{} : other->second);
    });
  };
  return holds(males, females) && holds(females, males);
}

void put_rows(const Rows& rows, const std::vector<std::uint16_t>& loci, double alive_all, Sex sex, Forecast& out) {
  for (const auto& [looks, sum] : rows) {
    LookRow row{.looks = {}, .chance = sum.chance / alive_all, .sex = sex, .het = sum.het};
    for (auto& locus : row.het) {
      for (double& het : locus) het /= sum.chance;
    }
    for (std::size_t i = 0; i < loci.size(); ++i) {
      if (looks[i] != 0) row.looks.push_back({loci[i], static_cast<std::uint8_t>(looks[i])});
    }
    out.rest -= row.chance;
    out.rows.push_back(std::move(row));
  }
}

/// Looks that hurt only together.
void add_combination_harms(const Species& species, Forecast& out) {
  for (const Combination& one : species.combinations) {
    if (one.harm.empty() || one.parts.empty()) continue;
    double chance = 0;
    for (const LookRow& row : out.rows) {
      const bool all = std::all_of(one.parts.begin(), one.parts.end(), [&](const Part& part) {
        return std::any_of(row.looks.begin(), row.looks.end(),
                           [&](const Part& look) { return look.locus == part.locus && look.look == part.look; });
      });
      chance += all ? row.chance * (1 - out.lost) : 0;
    }
    if (chance <= 0) continue;
    out.harms.push_back({one.parts.front().locus, one.name, one.harm, sentence_of(one.source), chance, false,
                         one.source.kind == Source::Kind::published});
  }
}

}  // namespace

Forecast forecast(const Inference& inference, AnimalIndex sire, AnimalIndex dam) {
  Forecast out;
  std::vector<std::uint16_t> loci;
  for (std::uint16_t locus = 0; locus < inference.species().loci.size(); ++locus) {
    const auto his = inference.odds(sire, locus);
    const auto hers = inference.odds(dam, locus);
    if (his.empty() || hers.empty()) {
      out.unanswered.push_back(locus);
    } else if (!only_wild(inference.states(locus), his) || !only_wild(inference.states(locus), hers)) {
      loci.push_back(locus);
    }
  }
  const auto cases = inference.cases(sire, dam, loci);
  if (cases.empty()) {
    out.unanswered.insert(out.unanswered.end(), loci.begin(), loci.end());
    return out;
  }
  const bool sex_linked =
      std::any_of(loci.begin(), loci.end(), [&](std::uint16_t locus) { return inference.states(locus).sex_matters(); });
  const std::vector<Sex> sexes = sex_linked ? std::vector{Sex::male, Sex::female} : std::vector{Sex::unknown};
  std::map<Sex, Rows> rows;
  double alive_all = 0;
  for (const Inference::Case& one : cases) {
    for (const Sex sex : sexes) {
      double alive = 1 / static_cast<double>(sexes.size());
      for (std::size_t i = 0; i < loci.size(); ++i) alive *= 1 - forecast_at(inference, loci[i], one.at[i], sex).lost;
      alive_all += one.chance * alive;
      add_rows(inference, loci, one, sex, one.chance * alive, rows[sex]);
    }
  }
  out.lost = 1 - alive_all;
  out.rest = 1;
  const bool told_apart = sex_linked && !are_alike(rows[Sex::male], rows[Sex::female]);
  if (sex_linked && !told_apart) {
    for (const Sex sex : {Sex::male, Sex::female}) {
      for (const auto& [looks, sum] : rows[sex]) add_row(rows[Sex::unknown][looks], sum);
    }
    rows.erase(Sex::male);
    rows.erase(Sex::female);
  }
  for (const auto& [sex, some] : rows) put_rows(some, loci, alive_all, sex, out);
  out.rest = std::max(0.0, out.rest);
  add_combination_harms(inference.species(), out);
  std::stable_sort(out.rows.begin(), out.rows.end(),
                   [](const LookRow& a, const LookRow& b) { return a.chance > b.chance; });
  double variance = 0;
  for (std::uint16_t locus : loci) {
    const Joint joint = inference.joint(sire, dam, locus);
    variance += variance_at(inference, locus, joint);
    out.loci.push_back(forecast_at(inference, locus, joint));
    add_harms(inference, locus, joint, out.harms);
  }
  out.error = std::sqrt(variance);
  return out;
}

namespace {

/// Chances of the chance: what one living young shows, by what the parents are.
using Spread = std::map<double, double>;

/// By the young's sex, which sex-linked loci share: what of all young is of it and shows all, and what is of it.
struct BySex {
  double shows = 1;
  double is = 1;
  auto operator<=>(const BySex&) const = default;
};
using Young = std::array<BySex, 2>;

Young young_at(const States& states, std::size_t sire, std::size_t dam, std::uint16_t locus,
               std::span<const Part> wanted) {
  Young out;
  for (std::size_t sex = 0; sex < out.size(); ++sex) {
    const Sex which = !states.sex_matters() ? Sex::unknown : sex == 0 ? Sex::male : Sex::female;
    out[sex].is = share_of(states, sire, dam, which);
    out[sex].shows = out[sex].is;
    std::optional<std::uint8_t> look;
    for (const Part& part : wanted) {
      if (part.locus != locus) continue;
      // Nobody looks of two things at one locus.
      const bool two = look && *look != part.look;
      look = part.look;
      out[sex].shows = two ? 0 : std::min(out[sex].shows, chance_of_look(states, sire, dam, part.look, which));
    }
  }
  return out;
}

double chance_of(const Young& young) {
  const double all = young[0].is + young[1].is;
  return all <= 0 ? 0 : (young[0].shows + young[1].shows) / all;
}

Spread spread_of(const Inference& inference, const Inference::Case& one, const std::vector<std::uint16_t>& loci,
                 std::span<const Part> wanted) {
  std::map<Young, double> made{{Young{}, one.chance}};
  for (std::size_t i = 0; i < loci.size(); ++i) {
    const States& states = inference.states(loci[i]);
    std::map<Young, double> here;
    each_pair(one.at[i], states.size(), [&](std::size_t s, std::size_t d, double chance) {
      here[young_at(states, s, d, loci[i], wanted)] += chance;
    });
    std::map<Young, double> next;
    for (const auto& [a, p] : made) {
      for (const auto& [b, q] : here) {
        Young both = a;
        for (std::size_t sex = 0; sex < both.size(); ++sex)
          both[sex] = {a[sex].shows * b[sex].shows, a[sex].is * b[sex].is};
        next[both] += p * q;
      }
    }
    made = std::move(next);
  }
  Spread out;
  for (const auto& [young, chance] : made) out[chance_of(young)] += chance;
  return out;
}

/// Chances of 0 to n successes, over what the chance of one may be.
std::vector<double> counts_of(const Spread& spread, unsigned n) {
  std::vector<double> out(n + 1);
  for (const auto& [chance, weight] : spread) {
    for (unsigned k = 0; k <= n; ++k) {
      const double ways = std::lgamma(n + 1.0) - std::lgamma(k + 1.0) - std::lgamma(n - k + 1.0);
      const double hits = k == 0 ? 1 : std::pow(chance, k);
      const double misses = k == n ? 1 : std::pow(1 - chance, n - k);
      out[k] += weight * std::exp(ways) * hits * misses;
    }
  }
  return out;
}

unsigned quantile(const std::vector<double>& chances, double share) {
  double sum = 0;
  for (unsigned k = 0; k < chances.size(); ++k) {
    sum += chances[k];
    if (sum >= share - 1e-12) return k;
  }
  return static_cast<unsigned>(chances.size() - 1);
}

}  // namespace

namespace {

/// Of the mean over the draws, by how much it varies between them.
double error_of(const Spread& spread, const std::vector<Inference::Case>& cases, unsigned young) {
  double draws = 0;
  for (const Joint& joint : cases.front().at) {
    if (joint.draws > 0) draws = draws > 0 ? std::min(draws, joint.draws) : joint.draws;
  }
  if (draws <= 0) return 0;
  double most = 0;
  for (const unsigned n : {1U, young}) {
    double mean = 0;
    double square = 0;
    for (const auto& [chance, weight] : spread) {
      const double any = chance >= 1 ? (n > 0 ? 1 : 0) : -std::expm1(n * std::log1p(-chance));
      mean += weight * any;
      square += weight * any * any;
    }
    most = std::max(most, square - mean * mean);
  }
  return std::sqrt(std::max(most / draws, 1e-18));
}

}  // namespace

std::optional<ClutchOdds> clutch_odds(const Inference& inference, AnimalIndex sire, AnimalIndex dam,
                                      std::span<const Part> wanted, unsigned young) {
  std::vector<std::uint16_t> loci;
  for (const Part& part : wanted) {
    if (std::find(loci.begin(), loci.end(), part.locus) == loci.end()) loci.push_back(part.locus);
  }
  const auto cases = inference.cases(sire, dam, loci);
  if (cases.empty()) return std::nullopt;
  Spread spread;
  for (const Inference::Case& one : cases) {
    for (const auto& [chance, weight] : spread_of(inference, one, loci, wanted)) spread[chance] += weight;
  }
  ClutchOdds out;
  for (const auto& [chance, weight] : spread) {
    out.each += weight * chance;
    out.at_least_one += weight * (chance >= 1 ? young > 0 : -std::expm1(young * std::log1p(-chance)));
  }
  out.expected = out.each * young;
  out.error = error_of(spread, cases, young);
  const auto counts = counts_of(spread, young);
  out.low = quantile(counts, 0.05);
  out.high = quantile(counts, 0.95);
  return out;
}

namespace {

/// Which of the two is the sire is told by which way they can have young.
std::span<const States::Child> young_of(const States& states, std::size_t a, std::size_t m) {
  const auto young = states.young(a, m);
  return young.empty() ? states.young(m, a) : young;
}

std::vector<std::uint8_t> proving_looks_of(const States& states, const Joint& joint, AlleleIndex allele) {
  std::vector<bool> with(256);
  std::vector<bool> without(256);
  each_pair(joint, states.size(), [&](std::size_t a, std::size_t m, double chance) {
    if (chance <= 0) return;
    auto& looks = states.copies(a, allele) > 0 ? with : without;
    for (const States::Child& child : young_of(states, a, m)) looks[states.look(child.state)] = true;
  });
  std::vector<std::uint8_t> out;
  for (std::size_t look = 0; look < with.size(); ++look) {
    if (with[look] && !without[look]) out.push_back(static_cast<std::uint8_t>(look));
  }
  return out;
}

}  // namespace

std::vector<std::uint8_t> proving_looks(const Inference& inference, AnimalIndex animal, AnimalIndex mate,
                                        AlleleRef allele) {
  const Joint joint = inference.joint(animal, mate, allele.locus);
  if (joint.chances.empty()) return {};
  return proving_looks_of(inference.states(allele.locus), joint, allele.allele);
}

std::optional<double> carrier_after(const Inference& inference, AnimalIndex animal, AnimalIndex mate, AlleleRef allele,
                                    unsigned young) {
  const States& states = inference.states(allele.locus);
  const Joint joint = inference.joint(animal, mate, allele.locus);
  if (joint.chances.empty()) return std::nullopt;
  const std::vector<std::uint8_t> proving = proving_looks_of(states, joint, allele.allele);
  double carries = 0;
  double all = 0;
  each_pair(joint, states.size(), [&](std::size_t a, std::size_t m, double chance) {
    double not_shown = 1;
    for (const States::Child& child : young_of(states, a, m)) {
      if (std::find(proving.begin(), proving.end(), states.look(child.state)) != proving.end())
        not_shown -= child.chance;
    }
    const double weight = chance * std::pow(std::max(0.0, not_shown), young);
    all += weight;
    if (states.copies(a, allele.allele) > 0) carries += weight;
  });
  if (all <= 0) return std::nullopt;
  return carries / all;
}

std::optional<unsigned> young_to_prove(const Inference& inference, AnimalIndex animal, AnimalIndex mate,
                                       AlleleRef allele, double surety) {
  const auto free_after = [&](unsigned n) { return 1 - carrier_after(inference, animal, mate, allele, n).value_or(1); };
  if (free_after(kMostYoung) < surety) return std::nullopt;
  unsigned low = 0;
  unsigned high = kMostYoung;
  while (low < high) {
    const unsigned middle = (low + high) / 2;
    if (free_after(middle) >= surety - 1e-12) {
      high = middle;
    } else {
      low = middle + 1;
    }
  }
  return low;
}

}  // namespace rackside::core::genetics
