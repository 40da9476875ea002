#pragma once

#include <optional>
#include <span>

// When something will happen that happens after so many days: a window from a rule of thumb, sharpened by the keeper's
// own past. Pure.
namespace rackside::core {

/// "55 to 62 days": what people expect before they have seen it often themselves.
struct RuleOfThumb {
  double least = 0;  ///< days; nine of ten are expected between the two
  double most = 0;
};

/// A range of whole days after the beginning.
struct Window {
  int first = 0;
  int last = 0;
  double chance = 0.8;  ///< that the day lies within
  double likeliest = 0;
  unsigned own = 0;  ///< how many of the keeper's own it rests on; 0: the rule of thumb alone
};

/// The window that holds the next one with this chance.
///
/// The days are taken as normal with unknown mean and spread. The rule of thumb is worth `kWorthOfRule` observations of
/// the mean and `kWorthOfSpread` of the spread, so that a keeper's first clutches move the window a little and twenty
/// outweigh the rule. The next one follows Student's t then. Source of the update: Gelman, Carlin, Stern, Dunson,
/// Vehtari and Rubin, Bayesian Data Analysis, 3rd edition, section 3.3 (normal data, conjugate prior).
Window window_of(const RuleOfThumb& rule, std::span<const double> own_days, double chance = 0.8);

constexpr double kWorthOfRule = 3;
constexpr double kWorthOfSpread = 6;

/// The value below which Student's t with so many degrees of freedom falls with this chance, 0 < chance < 1.
double student_quantile(double chance, double degrees);
double student_below(double t, double degrees);

/// What is believed of mean and spread: of the mean `worth` observations around `mean`, of the variance an inverse
/// gamma.
struct Belief {
  double mean = 0;
  double worth = 0;
  double shape = 0;
  double scale = 0;
};
Belief belief_of(const RuleOfThumb& rule);
Belief learn(Belief before, std::span<const double> own_days);

}  // namespace rackside::core
