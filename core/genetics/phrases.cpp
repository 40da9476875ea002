#include "core/genetics/phrases.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "core/genetics/said.h"

namespace rackside::core::genetics {
namespace {

std::string hets_beside(const Locus& locus, const State& state, std::uint8_t look) {
  std::string out;
  for (const AlleleIndex allele : {state.a, state.b}) {
    const bool shown = locus.pair(kWild, allele).look == look && look != 0;
    if (allele == kWild || shown || (state.b == allele && state.a == allele)) continue;
    // A compound's own alleles are what it looks like.
    if (look != 0 && locus.pair(allele, allele).look == look) continue;
    out += (out.empty() ? "het " : " and ") + locus.alleles[allele].name;
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

std::string phrase_of(const Species& species, std::uint16_t locus, const States& states, std::size_t index) {
  const Locus& where = species.loci[locus];
  const State& state = states[index];
  const std::uint8_t look = states.look(index);
  const std::string hets = state.single ? std::string() : hets_beside(where, state, look);
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
  constexpr double kWorthSaying = 0.005;
  std::vector<Chance> out;
  for (const LocusForecast& locus : forecast.loci) {
    std::uint8_t look = 0;
    for (const Part& part : row.looks) {
      if (part.locus == locus.locus) look = part.look;
    }
    const Locus& where = species.loci[locus.locus];
    for (std::size_t allele = 1; allele < where.alleles.size(); ++allele) {
      // One copy that is seen needs no word.
      if (look != 0 && where.pair(kWild, static_cast<AlleleIndex>(allele)).look == look) continue;
      const std::optional<double> chance = locus.het_given_look[look][allele];
      if (chance && *chance >= kWorthSaying) out.push_back({"het " + where.alleles[allele].name, *chance, true});
    }
  }
  return out;
}

std::string percent(double chance) {
  // Sums of many products miss 0 and 1 by rounding.
  constexpr double kNothing = 1e-12;
  if (chance <= kNothing) return "0 %";
  if (chance >= 1 - kNothing) return "100 %";
  const double value = chance * 100;
  if (value < 0.01) return "under 0.01 %";
  if (value > 99.99) return "over 99.99 %";
  return trimmed_number(value, value < 1 || value > 99 ? 2 : 1) + " %";
}

unsigned card_percent(double chance) {
  constexpr double kRounding = 1e-9;
  return static_cast<unsigned>(std::floor(std::clamp(chance, 0.0, 1.0) * 100 + kRounding));
}

}  // namespace rackside::core::genetics
