#include "core/husbandry/signs.h"

#include <algorithm>
#include <cmath>

namespace rackside::core {
namespace {

constexpr const char* kLook = ": look, and ask a veterinarian";
/// A dose later than this is not asked for any more: the course is over, or the book was not kept.
constexpr int kDoseForgotten = 60;
/// A weight older than this says nothing of today.
constexpr int kWeightForgotten = 120;
/// After a cooling, sheds start anew.
constexpr int kAfterFast = 60;
/// An opaque animal of which so long nothing was heard is forgotten.
constexpr int kOpaqueForgotten = 90;

std::string days(int count) {
  return std::to_string(count) + (count == 1 ? " day" : " days");
}

std::string ago(int count) {
  return count == 0 ? "today" : days(count) + " ago";
}

/// "41.2 g"; tenths below 100 g, whole grams above.
std::string grams(int tenths) {
  if (tenths >= 1000) return std::to_string((tenths + 5) / 10) + " g";
  return std::to_string(tenths / 10) + (tenths % 10 == 0 ? "" : "." + std::to_string(tenths % 10)) + " g";
}

template <typename Number>
double median(std::vector<Number> values) {
  std::sort(values.begin(), values.end());
  const std::size_t half = values.size() / 2;
  if (values.size() % 2 == 1) return static_cast<double>(values[half]);
  return (static_cast<double>(values[half - 1]) + static_cast<double>(values[half])) / 2;
}

int middle(int a, int b, int c) {
  return std::max(std::min(a, b), std::min(std::max(a, b), c));
}

void add_doses(const AnimalFacts& facts, DayNumber today, std::vector<DueLine>& out) {
  for (const Course& course : facts.courses) {
    const int late = today - course.day - course.repeat_days;
    if (course.repeat_days == 0 || late < 0 || late > kDoseForgotten) continue;
    out.push_back({Due::dose, late,
                   (course.remedy.empty() ? "a treatment" : course.remedy) + " was given " + ago(today - course.day) +
                       ", to repeat after " + days(course.repeat_days) + ": as the veterinarian said"});
  }
}

bool fasted_lately(const AnimalFacts& facts, DayNumber today) {
  return facts.fast && facts.fast->from <= today && today - facts.fast->to <= kAfterFast;
}

void add_off_feed(const AnimalFacts& facts, const Limits& limits, const Moment& moment, std::vector<DueLine>& out) {
  const int limit = refusals_off_feed(facts, limits);
  if (facts.refusals < limit || is_gravid(facts, limits, moment.today) || is_fasting(facts, moment.tonight)) return;
  std::string why = "refused " + std::to_string(facts.refusals) + " times in a row";
  if (facts.usual_refusals) {
    why += ", usually up to " + std::to_string(*facts.usual_refusals);
  } else if (facts.never_refuses) {
    why += ", which it never did before";
  }
  out.push_back({Due::off_feed, facts.refusals, why + ": look, weigh, and ask a veterinarian if it loses weight"});
}

void add_weight(const AnimalFacts& facts, const Limits& limits, DayNumber today, std::vector<DueLine>& out) {
  if (!facts.weighed || facts.peak_tenths <= 0 || facts.week_tenths >= 0) return;
  if (today - *facts.weighed > kWeightForgotten) return;
  const int lost = facts.peak_tenths - facts.grams_tenths;
  if (lost * 100 < facts.peak_tenths * limits[Limit::weight_loss_percent]) return;
  const int since = facts.peak_day ? today - *facts.peak_day : 0;
  out.push_back({Due::weight_loss, since,
                 "lost " + std::to_string(lost * 100 / facts.peak_tenths) + " % in " + days(since) + ", from " +
                     grams(facts.peak_tenths) + " to " + grams(facts.grams_tenths) + kLook});
}

void add_late_shed(const AnimalFacts& facts, const Limits& limits, const Moment& moment, std::vector<DueLine>& out) {
  if (facts.opaque) {
    const int since = moment.today - *facts.opaque;
    if (since > limits[Limit::opaque_days] && since <= kOpaqueForgotten)
      out.push_back({Due::shed_late, since - limits[Limit::opaque_days],
                     "opaque " + ago(since) + ", and no shed since: look, raise humidity, and ask a veterinarian"});
    return;
  }
  if (!facts.shed || !facts.shed_latest || !facts.shed_usual) return;
  const int since = moment.today - *facts.shed;
  if (since <= *facts.shed_latest || is_gravid(facts, limits, moment.today) || fasted_lately(facts, moment.today))
    return;
  out.push_back({Due::shed_late, since - *facts.shed_latest,
                 "shed " + ago(since) + ", usually every " + days(*facts.shed_usual) + kLook});
}

void add_unseen(const AnimalFacts& facts, const Limits& limits, const Moment& moment, std::vector<DueLine>& out) {
  // Who eats seldom is seldom written about.
  constexpr int kAfterMeal = 3;
  const int limit = std::max(limits[Limit::unseen_days], facts.interval.most + kAfterMeal);
  if (!facts.seen || moment.today - *facts.seen <= limit) return;
  const int since = moment.today - *facts.seen;
  out.push_back({Due::unseen, since, "no entry of any kind for " + days(since) + ": look, and scan what you see"});
}

}  // namespace

int nine_of_ten(std::vector<int> values) {
  if (values.empty()) return 0;
  std::sort(values.begin(), values.end());
  const std::size_t rank = (values.size() * 9 + 9) / 10;  // the smallest whole number at or over nine tenths
  return values[rank - 1];
}

RefusalHabit refusal_habit(const std::vector<bool>& nights) {
  RefusalHabit habit;
  int run = 0;
  for (const bool ate : nights) {
    if (!ate) {
      ++run;
      continue;
    }
    ++habit.meals;
    if (run > 0) habit.runs.push_back(run);
    run = 0;
  }
  return habit;
}

std::optional<int> usual_refusals(const RefusalHabit& habit) {
  return habit.runs.size() < kRunsKnown ? std::nullopt : std::optional(nine_of_ten(habit.runs));
}

bool never_refuses(const RefusalHabit& habit) {
  const bool twice = std::any_of(habit.runs.begin(), habit.runs.end(), [](int run) { return run > 1; });
  return habit.meals >= kMealsKnown && !twice;
}

std::optional<ShedHabit> shed_habit(std::span<const DayNumber> sheds) {
  if (sheds.size() < kShedsKnown + 1) return std::nullopt;
  std::vector<int> intervals;
  for (std::size_t i = 1; i < sheds.size(); ++i) intervals.push_back(sheds[i] - sheds[i - 1]);
  const double usual = median(intervals);
  std::vector<double> apart;
  for (const int interval : intervals) apart.push_back(std::abs(interval - usual));
  constexpr double kToNormal = 1.4826;
  constexpr double kTimes = 3;
  constexpr double kLeast = 14;
  const double margin = std::max(kLeast, kTimes * kToNormal * median(apart));
  return ShedHabit{static_cast<int>(std::lround(usual)), static_cast<int>(std::ceil(usual + margin))};
}

std::vector<int> running_median(std::span<const int> values) {
  std::vector<int> out(values.begin(), values.end());
  const std::size_t count = values.size();
  if (count < 3) return out;
  for (std::size_t i = 1; i + 1 < count; ++i) out[i] = middle(values[i - 1], values[i], values[i + 1]);
  out[0] = middle(values[0], out[1], 3 * out[1] - 2 * out[2]);
  out[count - 1] = middle(values[count - 1], out[count - 2], 3 * out[count - 2] - 2 * out[count - 3]);
  return out;
}

double theil_sen(std::span<const std::pair<DayNumber, int>> points) {
  std::vector<double> slopes;
  for (std::size_t a = 0; a < points.size(); ++a) {
    for (std::size_t b = a + 1; b < points.size(); ++b) {
      const int apart = points[b].first - points[a].first;
      if (apart != 0) slopes.push_back(static_cast<double>(points[b].second - points[a].second) / apart);
    }
  }
  return slopes.empty() ? 0 : median(slopes);
}

std::optional<WeightTrend> weight_trend(std::span<const Weighing> weighings, int peak_days) {
  std::vector<DayNumber> when;
  std::vector<int> tenths;
  for (const Weighing& one : weighings) {
    if (one.full || one.tenths <= 0) continue;
    when.push_back(one.day);
    tenths.push_back(one.tenths);
  }
  if (when.empty()) return std::nullopt;
  const std::vector<int> smooth = running_median(tenths);
  WeightTrend out{when.back(), smooth.back(), smooth.back(), when.back(), 0};
  if (when.size() < 3) return out;
  std::size_t peak = when.size() - 1;
  // Of equal ones the newest: the loss began there.
  for (std::size_t i = when.size(); i-- > 0 && when.back() - when[i] <= peak_days;)
    if (smooth[i] > smooth[peak]) peak = i;
  out.peak = smooth[peak];
  out.peak_day = when[peak];
  std::vector<std::pair<DayNumber, int>> since;
  for (std::size_t i = peak; i < when.size(); ++i) since.emplace_back(when[i], tenths[i]);
  constexpr double kWeek = 7;
  out.week = static_cast<int>(std::lround(theil_sen(since) * kWeek));
  return out;
}

void add_health_lines(const AnimalFacts& facts, const Limits&, const Moment& moment, std::vector<DueLine>& out) {
  if (facts.ill) {
    const int since = moment.today - *facts.ill;
    out.push_back({Due::ill, since,
                   "looked unwell " + ago(since) + (facts.signs.empty() ? "" : " (" + facts.signs + ")") + kLook +
                       "; when it is over: `rackside log well CODE`"});
  }
  add_doses(facts, moment.today, out);
  if (facts.stuck) {
    const int since = moment.today - *facts.stuck;
    out.push_back({Due::stuck_shed, since,
                   "a shed was stuck " + ago(since) +
                       ": look again, never pull dry skin; when all is off: `rackside log cleared CODE`"});
  }
}

void add_body_lines(const AnimalFacts& facts, const Limits& limits, const Moment& moment, std::vector<DueLine>& out) {
  add_off_feed(facts, limits, moment, out);
  add_weight(facts, limits, moment.today, out);
  add_late_shed(facts, limits, moment, out);
  add_unseen(facts, limits, moment, out);
}

}  // namespace rackside::core
