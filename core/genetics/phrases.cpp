#include "core/genetics/phrases.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "core/genetics/said.h"

namespace rackside::core::genetics {
namespace {

std::string hets_beside(const Species& species, std::uint16_t index, const State& state, std::uint8_t look) {
  const Locus& locus = species.loci[index];
  std::string out;
  for (const AlleleIndex allele : {state.a, state.b}) {
    if (allele == kWild || is_shown(locus, look, allele) || (state.b == allele && state.a == allele)) continue;
    out += (out.empty() ? "het " : " and het ") + allele_name(species, {index, allele});
    if (state.a == state.b) break;
  }
  return out;
}

bool says_copies(const Locus& locus, const State& state, std::uint8_t look) {
  if (state.single) return false;
  for (const AlleleIndex allele : {state.a, state.b}) {
    if (allele == kWild) continue;
    const Pair& one = locus.pair(kWild, allele);
    const Pair& two = locus.pair(allele, allele);
    if (one.look == look && two.look == look && two.viable) return true;
  }
  return false;
}

/// The name that the pair with this allele has, where one pair alone has the look with one copy of it.
std::string compound_beside(const Locus& locus, std::uint8_t look, AlleleIndex allele) {
  std::string out;
  for (AlleleIndex other = 0; other < locus.alleles.size(); ++other) {
    const Pair& pair = locus.pair(allele, other);
    if (other == allele || !pair.viable || pair.look != look) continue;
    if (!out.empty() || pair.name.empty()) return {};
    out = pair.name;
  }
  return out;
}

std::string trimmed_number(double value, int digits) {
  char text[32];
  std::snprintf(text, sizeof text, "%.*f", digits, value);
  std::string out = text;
  while (out.find('.') != std::string::npos && (out.back() == '0' || out.back() == '.')) {
    const bool point = out.back() == '.';
    out.pop_back();
    if (point) break;
  }
  return out;
}

}  // namespace

bool is_shown(const Locus& locus, std::uint8_t look, AlleleIndex allele) {
  if (look == 0 || allele == kWild) return false;
  if (locus.pair(kWild, allele).look == look || locus.pair(allele, allele).look == look) return true;
  // A compound with a look of its own: what all that look so have is what is seen.
  bool any = false;
  for (AlleleIndex b = 0; b < locus.alleles.size(); ++b) {
    for (AlleleIndex a = 0; a <= b; ++a) {
      if (locus.pair(a, b).look != look) continue;
      if (a != allele && b != allele) return false;
      any = true;
    }
  }
  return any;
}

std::string phrase_of(const Species& species, std::uint16_t locus, const States& states, std::size_t index) {
  const Locus& where = species.loci[locus];
  const State& state = states[index];
  const std::uint8_t look = states.look(index);
  const std::string hets = state.single ? std::string() : hets_beside(species, locus, state, look);
  if (look == 0) return hets.empty() ? "normal" : hets;
  std::string out = look_name(species, {locus, look});
  const Pair& pair = states.pair(index);
  if (!pair.name.empty() && plain_name(pair.name) != plain_name(out)) out += " (" + pair.name + ")";
  if (says_copies(where, state, look)) out += state.a == state.b ? ", two copies" : ", one copy";
  return hets.empty() ? out : out + ", " + hets;
}

std::vector<Chance> chances_of(const Species& species, std::uint16_t locus, const States& states,
                               const std::vector<double>& odds, double least) {
  std::vector<Chance> out;
  for (std::size_t i = 0; i < odds.size(); ++i) {
    if (odds[i] <= 0) continue;
    const std::string phrase = phrase_of(species, locus, states, i);
    auto known = std::find_if(out.begin(), out.end(), [&](const Chance& one) { return one.phrase == phrase; });
    if (known == out.end()) {
      out.push_back({phrase, 0, (states.wild() >> i & 1) == 0});
      known = out.end() - 1;
    }
    known->chance += odds[i];
  }
  std::erase_if(out, [&](const Chance& one) { return one.chance < least; });
  std::stable_sort(out.begin(), out.end(), [](const Chance& a, const Chance& b) { return a.chance > b.chance; });
  return out;
}

std::string name_of(const Species& species, const LookRow& row) {
  if (row.looks.empty()) return "normal";
  std::string out;
  for (const Part& part : row.looks) out += (out.empty() ? "" : " ") + look_name(species, part);
  for (const Combination& one : species.combinations) {
    const bool same =
        one.parts.size() == row.looks.size() && std::all_of(one.parts.begin(), one.parts.end(), [&](const Part& part) {
          return std::any_of(row.looks.begin(), row.looks.end(),
                             [&](const Part& look) { return look.locus == part.locus && look.look == part.look; });
        });
    if (same) return out + " (" + one.name + ")";
  }
  return out;
}

std::vector<Chance> carried_unseen(const Species& species, const Forecast& forecast, const LookRow& row) {
  constexpr double kWorthSaying = 0.005;  // our choice, no source
  std::vector<Chance> out;
  for (std::size_t place = 0; place < forecast.loci.size(); ++place) {
    const LocusForecast& locus = forecast.loci[place];
    std::uint8_t look = 0;
    for (const Part& part : row.looks) {
      if (part.locus == locus.locus) look = part.look;
    }
    const Locus& where = species.loci[locus.locus];
    for (AlleleIndex allele = 1; allele < where.alleles.size(); ++allele) {
      if (is_shown(where, look, allele)) continue;
      const double chance = row.het[place][allele];
      if (chance < kWorthSaying) continue;
      const std::string compound = look == 0 ? std::string() : compound_beside(where, look, allele);
      out.push_back(
          {"het " + allele_name(species, {locus.locus, allele}) + (compound.empty() ? "" : " (" + compound + ")"),
           chance, true});
    }
  }
  return out;
}

std::string percent(double chance, int digits) {
  // Sums of many products miss 0 and 1 by rounding.
  constexpr double kNothing = 1e-12;
  if (chance <= kNothing) return "0 %";
  if (chance >= 1 - kNothing) return "100 %";
  const double value = chance * 100;
  if (value < 0.01) return "under 0.01 %";
  if (value > 99.99) return "over 99.99 %";
  return trimmed_number(value, value < 1 || value > 99 ? 2 : digits) + " %";
}

unsigned card_percent(double chance) {
  constexpr double kRounding = 1e-9;
  return static_cast<unsigned>(std::floor(std::clamp(chance, 0.0, 1.0) * 100 + kRounding));
}

}  // namespace rackside::core::genetics
