#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/time/zone.h"

// Which male goes to which female, and when he comes out. Pure. All defaults are common practice, no source.
namespace rackside::core {

/// What the keeper wants of one male's season.
struct RotationPlan {
  int in_least = 2;                   ///< days with a female before he comes out, if a lock was seen
  int in_most = 4;                    ///< days after which he comes out in any case
  int rest = 0;                       ///< days alone before the next one; 0: out of one, into the next
  int female_rest = 5;                ///< days before he, or another, comes back to the same female
  int locks = 3;                      ///< seen of one female, and he need not come back to her this season
  DayNumber since = 0;                ///< the season's first day: older visits and locks do not count
  std::vector<std::int64_t> females;  ///< in order; things of the book
};
/// Empty where the plan makes sense; else what is wrong with it, for people.
std::string problem_of(const RotationPlan& plan);

/// No pairing for two days after a meal.
constexpr Instant kRestAfterMeal = 48 * kHour;

/// What is known of an animal that may be paired today.
struct RotationFacts {
  std::int64_t thing = 0;
  bool is_here = true;
  std::optional<DayNumber> opaque;  ///< no shed since
  std::optional<Instant> last_meal;
  std::optional<DayNumber> regurgitated;  ///< no meal since
  std::optional<DayNumber> treated;       ///< and still under treatment
  std::optional<std::int64_t> grams_tenths, least_grams_tenths;
  std::optional<DayNumber> gravid;      ///< ovulated, gravid or laid within the season
  std::string_view gravid_word;         ///< "gravid", "ovulated", "laid"
  std::optional<std::int64_t> company;  ///< who is with her, or whom he is with
  std::optional<DayNumber> last_visit;  ///< the day the last visit ended, whoever it was with
};

/// His visits to one female of the plan, in this season.
struct VisitFacts {
  int locks = 0;
  std::optional<DayNumber> last_ended;
};

struct Skipped {
  std::int64_t female = 0;
  std::string why;  ///< "opaque since 2026-11-25"
};

struct RotationAdvice {
  std::optional<std::int64_t> out_of;  ///< he is with her and comes out today
  std::optional<std::int64_t> stays;   ///< he is with her and stays
  std::optional<std::int64_t> into;    ///< he goes to her today
  std::string why;                     ///< for people
  std::vector<Skipped> skipped;        ///< females that were passed over, in order, and why
  bool done = false;                   ///< every female has her locks, eggs, or has gone
};

/// Whether an animal is left alone today, and why; empty: it can be paired. Also for pairs without a plan.
std::string why_not(const RotationFacts& facts, Instant now, const Zone& zone);

/// `females` and `visits` are in the order of plan.females. `with_since`: the day he came to the female he is with;
/// `locked_now`: a lock was seen in this visit; `last_female`: the plan's index of the one he was with last.
RotationAdvice advise(const RotationPlan& plan, const RotationFacts& male, std::span<const RotationFacts> females,
                      std::span<const VisitFacts> visits, std::optional<DayNumber> with_since, bool locked_now,
                      std::optional<std::size_t> last_female, Instant now, const Zone& zone);

}  // namespace rackside::core
