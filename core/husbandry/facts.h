#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/time/zone.h"

// What the book knows of one animal's feeding, skin, weight and health, gathered by core/read/due_board: from its own
// accounts alone, so that it stays true until something is heard of that animal.
namespace rackside::core {

/// Days between meals. Every interval is a range that the keeper can change.
struct Interval {
  int least = 7;
  int most = 10;
  bool rule_of_thumb = true;  ///< not the keeper's own setting
  bool operator==(const Interval&) const = default;
};
/// "7" or "7-10"; nullopt for anything else.
std::optional<Interval> parse_interval(std::string_view text);
/// By age where the keeper set nothing: hatchlings 5 to 7 days, adults 10 to 14 (common practice, no source).
Interval usual_interval(std::optional<DayNumber> hatched, DayNumber today);
std::string text_of(const Interval& interval);  ///< "7" or "7-10"

/// A remedy's newest dose.
struct Course {
  std::string remedy;  ///< empty: not said
  DayNumber day = 0;
  int repeat_days = 0;  ///< 0: nothing was said of another dose
  bool operator==(const Course&) const = default;
};

/// A time in which it is not fed on purpose, first and last day included.
struct Fast {
  DayNumber from = 0;
  DayNumber to = 0;
  std::string why;  ///< cooling, breeding, veterinarian, shipping, other
  bool operator==(const Fast&) const = default;
};

struct AnimalFacts {
  // food
  std::optional<DayNumber> last_meal;     ///< number of the feeding night
  std::optional<int> meal_minute;         ///< of its account, in minutes since 1970-01-01 UTC
  int servings = 0;                       ///< of that night
  std::optional<DayNumber> last_refusal;  ///< night of the newest refusal after the last meal
  int refusals = 0;                       ///< nights refused since the last meal, those while opaque left out
  std::optional<int> usual_refusals;      ///< its own habit: nine of ten of its past runs of refusals were no longer
  bool never_refuses = false;             ///< over twenty meals, and it never refused twice in a row
  std::optional<DayNumber> open_offer;    ///< night of an offer that waits for its outcome
  std::optional<DayNumber> check_tub;     ///< night whose accounts contradict each other
  std::string caution;                    ///< fed-twice, perhaps-fed-twice
  std::optional<DayNumber> caution_night;
  std::optional<DayNumber> regurgitated;  ///< day, no meal since
  // skin
  std::optional<DayNumber> opaque;  ///< day seen opaque, no shed since
  std::optional<DayNumber> shed;    ///< day of the last shed
  std::optional<int> shed_usual;    ///< its own habit: days from shed to shed, the median
  std::optional<int> shed_latest;   ///< after so many days its next shed is late by its own habit
  std::optional<DayNumber> stuck;   ///< day of a shed that was stuck and is not cleared
  /// Day on which nobody could surely tell the look of the hatchling, before its first shed; nobody has looked since
  /// that.
  std::optional<DayNumber> unsure_look;
  // body
  std::optional<DayNumber> weighed;  ///< day of the newest weighing that counts
  int grams_tenths = 0;              ///< smoothed; 0: never weighed
  int peak_tenths = 0;               ///< the highest of its recent weights, smoothed
  std::optional<DayNumber> peak_day;
  int week_tenths = 0;              ///< what it gains a week since the peak, by a robust line
  std::optional<DayNumber> gravid;  ///< day seen gravid or ovulated, not laid since
  std::optional<DayNumber> laid;
  // health
  std::vector<Course> courses;    ///< that no `well` followed
  std::optional<DayNumber> ill;   ///< since that day it looks unwell
  std::string signs;              ///< what was seen then
  std::optional<DayNumber> seen;  ///< day of the newest account of whatever kind
  // the register
  std::optional<DayNumber> registered;  ///< day it came into the book
  std::optional<Fast> fast;             ///< its own, from the register; else its species'
  Interval interval;                    ///< from the feeding plan of the day
};

/// All numbers of the facts by name, in one order: what the day's list keeps, and what a phone gets.
template <typename Facts, typename Visit>
void visit_numbers(Facts& facts, const Visit& visit) {
  visit("last_meal", facts.last_meal);
  visit("meal_minute", facts.meal_minute);
  visit("servings", facts.servings);
  visit("last_refusal", facts.last_refusal);
  visit("refusals", facts.refusals);
  visit("usual_refusals", facts.usual_refusals);
  visit("never_refuses", facts.never_refuses);
  visit("open_offer", facts.open_offer);
  visit("check_tub", facts.check_tub);
  visit("caution_night", facts.caution_night);
  visit("regurgitated", facts.regurgitated);
  visit("opaque", facts.opaque);
  visit("shed", facts.shed);
  visit("shed_usual", facts.shed_usual);
  visit("shed_latest", facts.shed_latest);
  visit("stuck", facts.stuck);
  visit("unsure_look", facts.unsure_look);
  visit("weighed", facts.weighed);
  visit("grams_now", facts.grams_tenths);
  visit("grams_peak", facts.peak_tenths);
  visit("peak_day", facts.peak_day);
  visit("grams_week", facts.week_tenths);
  visit("gravid", facts.gravid);
  visit("laid", facts.laid);
  visit("ill", facts.ill);
  visit("last_seen", facts.seen);
  visit("registered", facts.registered);
}

}  // namespace rackside::core
