#pragma once

#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "core/husbandry/plan.h"

// Signs that somebody should look at an animal, each against its own past. Pure. None is a diagnosis: every one says
// why, since when, and "look, and ask a veterinarian".
namespace rackside::core {

/// The value that nine of ten do not pass, by the nearest rank. Source of the definition: Hyndman and Fan, Sample
/// quantiles in statistical packages, The American Statistician 50 (1996), their type 1 (from memory).
int nine_of_ten(std::vector<int> values);

/// How an animal refuses, from its feeding nights of the past.
struct RefusalHabit {
  std::vector<int> runs;  ///< refusals in a row that a meal ended, runs of none left out
  int meals = 0;
};
/// Of nights in order of time, true: ate, false: refused. The run that no meal ended yet is left out.
RefusalHabit refusal_habit(const std::vector<bool>& nights);
/// Its usual longest run; nothing with fewer than `kRunsKnown` runs.
std::optional<int> usual_refusals(const RefusalHabit& habit);
/// It took `kMealsKnown` meals and never refused twice in a row.
bool never_refuses(const RefusalHabit& habit);
constexpr std::size_t kRunsKnown = 4;
constexpr int kMealsKnown = 20;

/// How often an animal sheds, by its own past.
struct ShedHabit {
  int usual = 0;   ///< the median of the days from shed to shed
  int latest = 0;  ///< later than this is unusual for it
};
/// Days of sheds, ascending; nothing with fewer than `kShedsKnown` intervals. Late is beyond the median by three times
/// the median absolute deviation, scaled to the normal (1.4826), and by two weeks at least. Source: Leys, Ley, Klein,
/// Bernard and Licata, Detecting outliers: do not use standard deviation around the mean, use absolute deviation around
/// the median, J. Exp. Soc. Psychology 49 (2013), 764-766 (from memory); the two weeks: common practice, no source.
std::optional<ShedHabit> shed_habit(std::span<const DayNumber> sheds);
constexpr std::size_t kShedsKnown = 5;

/// One weighing. `full`: within the rest after a meal.
struct Weighing {
  DayNumber day = 0;
  int tenths = 0;
  bool full = false;
};

/// The running median of three, the ends by Tukey's rule. Source: Tukey, Exploratory Data Analysis (1977), chapter 7
/// (from memory). One weight that was read or typed wrongly moves nothing. Fewer than three values stay as they are.
std::vector<int> running_median(std::span<const int> values);

/// The slope of the line through points (x, y) by Theil and Sen: the median of the slopes of all pairs with different
/// x. Source: Sen, Estimates of the regression coefficient based on Kendall's tau, JASA 63 (1968), 1379-1389 (from
/// memory). 0 without such a pair.
double theil_sen(std::span<const std::pair<DayNumber, int>> points);

/// Where a weight stands beside its recent peak.
struct WeightTrend {
  DayNumber day = 0;  ///< of the newest weighing that counts
  int now = 0;        ///< tenths of a gram, smoothed
  int peak = 0;
  DayNumber peak_day = 0;
  int week = 0;  ///< tenths of a gram gained a week since the peak
};
/// Weighings ascending by day; full bellies do not count. With fewer than three that count there is no trend: `now` and
/// `peak` are the newest then. The peak lies within `peak_days` before the newest. Nothing when none counts.
std::optional<WeightTrend> weight_trend(std::span<const Weighing> weighings, int peak_days);

/// Ill, doses to repeat, stuck sheds.
void add_health_lines(const AnimalFacts& facts, const Limits& limits, const Moment& moment, std::vector<DueLine>& out);
/// Off feed, weight, a late shed, nobody has looked.
void add_body_lines(const AnimalFacts& facts, const Limits& limits, const Moment& moment, std::vector<DueLine>& out);

}  // namespace rackside::core
