#include "core/genetics/claims.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>

#include "core/genetics/field.h"
#include "core/genetics/phrases.h"
#include "core/genetics/said.h"

namespace rackside::core::genetics {
namespace {

/// Sums of many products miss 1 by rounding.
constexpr double kRounding = 1e-9;

bool is_so(const States& states, std::size_t i, Says says, const Option& option) {
  switch (says) {
    case Says::looks:
      return states.look(i) == option.look;
    case Says::carries:
      return states.copies(i, option.a) >= 1;
    case Says::possible:  // "66 % het": two copies are not het
      return states.copies(i, option.a) == 1;
    case Says::het:
      return states.copies(i, option.a) == 1 && !states[i].single;
    case Says::genotype:
      return std::minmax({states[i].a, states[i].b}) == std::minmax({option.a, option.b});
    default:
      return false;
  }
}

bool is_said_on_paper(Says says) {
  return says == Says::looks || says == Says::carries || says == Says::possible || says == Says::het ||
         says == Says::genotype;
}

/// What was said of the animal there excludes itself: its odds then rest on the rest only.
bool excludes_itself(const Inference& inference, AnimalIndex animal, std::uint16_t locus) {
  return std::any_of(inference.problems().begin(), inference.problems().end(), [&](const Problem& problem) {
    return problem.kind == Problem::Kind::excluding_statements && problem.locus == locus &&
           std::find(problem.animals.begin(), problem.animals.end(), animal) != problem.animals.end();
  });
}

/// What is surely left of a chance that rests on drawing at this locus.
double less_error(const Inference& inference, AnimalIndex animal, std::uint16_t locus, double chance) {
  if (inference.way(animal, locus) != Way::sampled) return chance;
  return std::clamp(chance - inference.error(animal, locus), 0.0, kMostDrawn);
}

/// The allele is there and the animal does not look of it.
bool carries_unseen(const Locus& locus, const States& states, std::size_t i, AlleleIndex allele) {
  if (states.copies(i, allele) == 0 || states[i].single) return false;
  return !is_shown(locus, states.look(i), allele);
}

/// The look of nearly all that it can be, if there is one.
std::optional<std::uint8_t> look_of(const States& states, const std::vector<double>& odds, double least) {
  std::map<std::uint8_t, double> looks;
  for (std::size_t i = 0; i < odds.size(); ++i) looks[states.look(i)] += odds[i];
  for (const auto& [look, chance] : looks) {
    if (chance >= least) return look;
  }
  return std::nullopt;
}

void add_unseen(const Inference& inference, AnimalIndex animal, std::uint16_t locus, const std::vector<double>& odds,
                std::vector<Inherited>& out) {
  const Species& species = inference.species();
  const States& states = inference.states(locus);
  for (AlleleIndex allele = 1; allele < species.loci[locus].alleles.size(); ++allele) {
    double chance = 0;
    for (std::size_t i = 0; i < odds.size(); ++i)
      chance += carries_unseen(species.loci[locus], states, i, allele) ? odds[i] : 0;
    chance = less_error(inference, animal, locus, chance);
    if (chance < kLeastOnPaper) continue;
    if (chance > 1 - kRounding) chance = 1;
    out.push_back({locus, allele, "het " + allele_name(species, {locus, allele}), chance});
  }
}

void add_locus(const Inference& inference, AnimalIndex animal, std::uint16_t locus, std::vector<Inherited>& out) {
  const Species& species = inference.species();
  const States& states = inference.states(locus);
  const std::vector<double> odds = inference.odds(animal, locus);
  if (odds.empty()) return;
  const auto look = look_of(states, odds, 1 - kRounding);
  const bool drawn = inference.way(animal, locus) == Way::sampled;
  if (look && *look != 0 && !drawn) out.push_back({locus, 0, look_name(species, {locus, *look}), 1});
  if (look_of(states, odds, kCertainOnPaper)) add_unseen(inference, animal, locus, odds, out);
}

}  // namespace

PaperStanding standing_of(double promised, std::optional<double> supported) {
  if (!supported) return PaperStanding::contradicted;
  const double enough = promised >= 1 ? kCertainOnPaper : promised;
  if (*supported >= enough - kRounding) return PaperStanding::stands;
  return *supported < kLeastOnPaper ? PaperStanding::contradicted : PaperStanding::weaker;
}

namespace {

/// That what is said is so at this locus, by the animal's chances there.
double chance_at(const States& states, const Statement& statement, std::uint16_t locus,
                 const std::function<double(std::size_t)>& of_state) {
  double sum = 0;
  for (std::size_t i = 0; i < states.size(); ++i) {
    const bool any = std::any_of(statement.options.begin(), statement.options.end(), [&](const Option& option) {
      return option.locus == locus && is_so(states, i, statement.says, option);
    });
    sum += any ? of_state(i) : 0;
  }
  return sum;
}

}  // namespace

std::optional<double> supported(const Inference& inference, const Statement& statement) {
  if (!is_said_on_paper(statement.says) || statement.options.empty()) return std::nullopt;
  const std::vector<std::uint16_t> loci = loci_of(statement);
  double most = 0;
  for (const std::uint16_t locus : loci) {
    const std::vector<double> odds = inference.odds(statement.animal, locus);
    if (odds.empty() || excludes_itself(inference, statement.animal, locus)) return std::nullopt;
    most = std::max(most, chance_at(inference.states(locus), statement, locus, [&](std::size_t i) { return odds[i]; }));
  }
  if (loci.size() == 1) return std::min(most, 1.0);
  // Of one of several genes: what each says of the others counts, so the loci are taken together.
  double none = 0;
  const auto cases = inference.cases(statement.animal, statement.animal, loci);
  if (cases.empty()) return std::min(most, 1.0);
  for (const Inference::Case& one : cases) {
    double here = one.chance;
    for (std::size_t i = 0; i < loci.size(); ++i) {
      const States& states = inference.states(loci[i]);
      const auto& joint = one.at[i].chances;
      here *= 1 - chance_at(states, statement, loci[i], [&](std::size_t s) { return joint[s * states.size() + s]; });
    }
    none += here;
  }
  return std::clamp(1 - none, 0.0, 1.0);
}

std::optional<double> surely_supported(const Inference& inference, const Statement& statement) {
  std::optional<double> out = supported(inference, statement);
  if (!out) return out;
  for (const Option& option : statement.options)
    out = std::min(*out, less_error(inference, statement.animal, option.locus, *out));
  return out;
}

std::vector<Inherited> inherited(const Inference& inference, AnimalIndex animal) {
  std::vector<Inherited> out;
  for (std::uint16_t locus = 0; locus < inference.species().loci.size(); ++locus)
    add_locus(inference, animal, locus, out);
  return out;
}

}  // namespace rackside::core::genetics
