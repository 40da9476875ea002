#include "core/husbandry/window.h"

#include <algorithm>
#include <cmath>

namespace rackside::core {
namespace {

/// The normal's 95 % point: nine of ten lie within so many spreads on both sides.
constexpr double kNineOfTen = 1.6448536269514722;
/// A rule of one day still has an error.
constexpr double kLeastSpread = 0.5;

/// The continued fraction of the incomplete beta function, by Lentz's method (DLMF 8.17.22).
double beta_fraction(double x, double a, double b) {
  constexpr double kTiny = 1e-300;
  constexpr double kPrecise = 1e-15;
  const auto guarded = [](double value) { return std::abs(value) < kTiny ? kTiny : value; };
  double c = 1;
  double d = 1 / guarded(1 - (a + b) * x / (a + 1));
  double out = d;
  for (int m = 1; m < 500; ++m) {
    const double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / guarded(1 + even * d);
    c = guarded(1 + even / c);
    out *= d * c;
    const double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / guarded(1 + odd * d);
    c = guarded(1 + odd / c);
    out *= d * c;
    if (std::abs(d * c - 1) < kPrecise) break;
  }
  return out;
}

/// The regularised incomplete beta function I_x(a, b).
double incomplete_beta(double x, double a, double b) {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  const double front =
      std::exp(std::lgamma(a + b) - std::lgamma(a) - std::lgamma(b) + a * std::log(x) + b * std::log1p(-x));
  // The fraction converges on the side of the mean.
  return x < (a + 1) / (a + b + 2) ? front * beta_fraction(x, a, b) / a : 1 - front * beta_fraction(1 - x, b, a) / b;
}

}  // namespace

double student_below(double t, double degrees) {
  const double tail = incomplete_beta(degrees / (degrees + t * t), degrees / 2, 0.5) / 2;
  return t > 0 ? 1 - tail : tail;
}

double student_quantile(double chance, double degrees) {
  if (chance == 0.5) return 0;
  double low = -1;
  double high = 1;
  while (student_below(low, degrees) > chance) low *= 2;
  while (student_below(high, degrees) < chance) high *= 2;
  for (int i = 0; i < 200 && high - low > 1e-13 * std::max(1.0, std::abs(low)); ++i) {
    const double middle = (low + high) / 2;
    (student_below(middle, degrees) < chance ? low : high) = middle;
  }
  return (low + high) / 2;
}

Belief belief_of(const RuleOfThumb& rule) {
  const double spread = std::max(kLeastSpread, (rule.most - rule.least) / (2 * kNineOfTen));
  const double shape = kWorthOfSpread / 2;
  // An inverse gamma's mean is scale / (shape - 1): the rule's own variance.
  return {.mean = (rule.least + rule.most) / 2,
          .worth = kWorthOfRule,
          .shape = shape,
          .scale = (shape - 1) * spread * spread};
}

Belief learn(Belief before, std::span<const double> own_days) {
  if (own_days.empty()) return before;
  const double n = static_cast<double>(own_days.size());
  double mean = 0;
  for (double one : own_days) mean += one / n;
  double squares = 0;
  for (double one : own_days) squares += (one - mean) * (one - mean);
  Belief after;
  after.worth = before.worth + n;
  after.mean = (before.worth * before.mean + n * mean) / after.worth;
  after.shape = before.shape + n / 2;
  after.scale =
      before.scale + squares / 2 + before.worth * n * (mean - before.mean) * (mean - before.mean) / (2 * after.worth);
  return after;
}

Window window_of(const RuleOfThumb& rule, std::span<const double> own_days, double chance) {
  const Belief belief = learn(belief_of(rule), own_days);
  const double degrees = 2 * belief.shape;
  const double scale = std::sqrt(belief.scale * (belief.worth + 1) / (belief.shape * belief.worth));
  const double half = student_quantile((1 + chance) / 2, degrees) * scale;
  Window out{.chance = chance, .likeliest = belief.mean, .own = static_cast<unsigned>(own_days.size())};
  // What happens is recorded as a whole day, which reaches half a day to both sides.
  out.first = static_cast<int>(std::lround(belief.mean - half + 0.5));
  out.last = std::max(out.first, static_cast<int>(std::lround(belief.mean + half - 0.5)));
  return out;
}

}  // namespace rackside::core
