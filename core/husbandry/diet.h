#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/husbandry/facts.h"
#include "core/husbandry/limits.h"
#include "core/log/value.h"

// What an animal is fed and how often: by its own record, its size class, its species, else by a rule of thumb. Pure.
namespace rackside::core {

/// A range of tenths of a gram, or of anything else that is counted in tenths.
struct TenthsRange {
  int least = 0;
  int most = 0;
  bool operator==(const TenthsRange&) const = default;
};
/// "50-80", "1.5-3", "20", each with g behind it or not; nullopt for anything else, for nothing, and over 5 kg.
std::optional<TenthsRange> parse_grams_range(std::string_view text);
/// "10-15" or "12.5", with % behind it or not: a share of body weight, over 0 and at most 60 %.
std::optional<TenthsRange> parse_share(std::string_view text);
/// "50–80", "1.5–3"
std::string range_text(const TenthsRange& range);

enum class StageBy : std::uint8_t { always, age, weight };

/// One life stage of a plan.
struct Stage {
  std::string name;  ///< of the keeper's own; empty for the one that always holds
  StageBy by = StageBy::always;
  int from = 0;  ///< days of age, or tenths of a gram
  int to = 0;    ///< not included; 0: without end
  Interval interval;
  std::string prey;                  ///< empty: as usual
  int count = 1;                     ///< prey a meal
  std::optional<TenthsRange> share;  ///< tenths of a percent of body weight: chooses the prey
  bool operator==(const Stage&) const = default;
};
using FeedingPlan = std::vector<Stage>;

/// "0-6m", "6m-2y", "2y-", "90-180d" into days; months and years are those of the mean year (365.25 days).
bool parse_age_range(std::string_view text, Stage& stage);
/// "0-50", "50-200g", "200-" into tenths of a gram.
bool parse_weight_range(std::string_view text, Stage& stage);
/// "0–6 months" for people; empty for a stage that always holds.
std::string reach_text(const Stage& stage);

/// What is wrong with a plan, for people: an empty interval or stage, two stages that overlap, age and weight in one
/// plan. Empty when nothing is.
std::string problem_of(const FeedingPlan& plan);

Value value_of(const FeedingPlan& plan);
/// nullopt for what is no plan, or one with a problem: another device may have a newer program.
std::optional<FeedingPlan> plan_of(const Value& value);

/// "2026-12-01 2027-02-28 cooling"
std::string text_of(const Fast& fast);
std::optional<Fast> parse_fast(std::string_view text);
bool is_reason_to_fast(std::string_view word);

/// The keeper's settings of care, read once for a list.
struct CareSettings {
  Limits limits;
  std::map<std::string, FeedingPlan, std::less<>> plans;  ///< by species or class, in plain names
  std::map<std::string, TenthsRange, std::less<>> preys;  ///< grams of a prey, by the keeper's name for it
  std::map<std::string, Fast, std::less<>> fasts;         ///< by "corn snake" or "corn snake/male"
};

/// What decides of an animal's food; the texts are somebody else's.
struct Eater {
  std::optional<DayNumber> hatched;
  int grams_tenths = 0;    ///< 0: never weighed
  std::string_view every;  ///< its own record
  std::string_view prey;
  std::string_view plan;     ///< the class it is in, plain
  std::string_view species;  ///< plain
};

/// What it is fed, and by which word.
struct Diet {
  Interval interval;
  std::string by;    ///< of the interval: "its own", "plan yearlings, stage large", "rule of thumb"
  std::string prey;  ///< empty: not known
  int count = 1;
  std::optional<TenthsRange> grams;  ///< what a meal should weigh, where the plan goes by a share of body weight
  std::string prey_by;
};
Diet diet_of(const Eater& eater, const CareSettings& settings, DayNumber today);
/// The interval alone, for lists of thousands.
Interval interval_of(const Eater& eater, const CareSettings& settings, DayNumber today);
/// "2 × fuzzy", "small-rat", "about 45–60 g"; empty when nothing is known.
std::string meal_text(const Diet& diet);

/// The prey and number, at most `kMostAtOnce`, whose grams lie nearest to the middle of what is wanted; nothing when
/// none reaches into the range.
std::optional<std::pair<std::string, int>> prey_for(const TenthsRange& wanted,
                                                    const std::map<std::string, TenthsRange, std::less<>>& preys);
constexpr int kMostAtOnce = 3;

/// A prey as meals name it: lower case, joined by hyphens ("Small rat" is "small-rat").
std::string prey_name(std::string_view text);

/// The day that a hatch date of the register stands for: "2025" its first of July, "2025-06" its first.
std::optional<DayNumber> hatched_day(std::string_view text);

}  // namespace rackside::core
