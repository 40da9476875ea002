#pragma once

#include <array>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/husbandry/window.h"
#include "core/log/kinds.h"
#include "core/time/zone.h"

// From pairing to hatching: what is expected of a female or her clutch, and when. Pure.
namespace rackside::core {

/// A stretch of the season between two things that can be seen.
enum class Step : std::uint8_t {
  pairing_to_laying,
  ovulation_to_shed,  ///< the shed before laying
  shed_to_laying,
  laying_to_hatching,
};
constexpr std::size_t kSteps = 4;
struct StepInfo {
  Step step;
  std::string_view word;   ///< "pairing-to-laying": in settings and on the command line
  std::string_view since;  ///< "paired"
  std::string_view what;   ///< "lays"
};
std::span<const StepInfo> step_table();
const StepInfo& info_of(Step step);
std::optional<Step> step_of(std::string_view word);

/// What is expected of a species, by step; a step of which nothing is known shows nothing.
using SeasonRules = std::map<Step, RuleOfThumb>;
/// The rules of thumb that come with the program, by species in plain names: common practice, no source. Empty for a
/// species without.
SeasonRules usual_season(std::string_view species);
/// "55-62" or "60"; nullopt for anything else, for a range that is empty and for one over `kLongestStep` days.
std::optional<RuleOfThumb> parse_days(std::string_view text);
constexpr int kLongestStep = 400;

/// One thing seen of a female that matters for her season.
struct SeasonFact {
  DayNumber day = 0;
  Kind kind = Kind::unknown;  ///< paired, locked, ovulated, palpated, gravid, shed, laid, hatched
};

/// How far she and her newest clutch are; nothing where there is nothing to wait for.
struct SeasonProgress {
  std::optional<DayNumber> paired, ovulated, eggs_seen, shed, laid;
  bool is_empty() const { return !paired && !ovulated && !eggs_seen && !shed && !laid; }
  bool operator==(const SeasonProgress&) const = default;
};

/// How long one step took once.
struct StepDays {
  Step step = Step::pairing_to_laying;
  int days = 0;
  bool operator==(const StepDays&) const = default;
};

/// What all facts of one animal come to; they ascend by day.
struct SeasonRecord {
  SeasonProgress progress;
  std::vector<StepDays> past;
};
SeasonRecord season_record(std::span<const SeasonFact> facts);

/// Days by step. An interval under half the least or over twice the most of the rule is taken for a missing entry and
/// left out.
using PastDays = std::map<Step, std::vector<double>>;
void add_past(std::span<const StepDays> past, const SeasonRules& rules, PastDays& out);
PastDays past_intervals(std::span<const SeasonFact> facts, const SeasonRules& rules);

/// What is expected next.
struct Expected {
  Step step = Step::pairing_to_laying;
  DayNumber since = 0;
  Window window;
  DayNumber first = 0;
  DayNumber last = 0;
  int late = 0;  ///< days after `last`; 0: not late
};

/// How long each step takes: the rule of thumb, and what the collection's past tells of the species, all females
/// together.
using StepWindows = std::map<Step, Window>;
StepWindows windows_of(const SeasonRules& rules, const PastDays& own);

/// At most one answer for the female (she lays, or sheds before it) and one for her newest clutch (it hatches).
std::vector<Expected> expected_of(const SeasonProgress& progress, const StepWindows& windows, DayNumber today);
/// The same from the facts, those after `today` left out.
std::vector<Expected> expected_of(std::span<const SeasonFact> facts, const StepWindows& windows, DayNumber today);

}  // namespace rackside::core
