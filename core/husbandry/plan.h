#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/time/zone.h"

// What is due at a tub, from facts that the reader gathered. Pure: no I/O, no clock.
namespace rackside::core {

/// Days between meals. Every interval is a range that the keeper can change.
struct Interval {
  int least = 7;
  int most = 10;
  bool rule_of_thumb = true;  ///< not the keeper's own setting
};
/// "7" or "7-10"; nullopt for anything else.
std::optional<Interval> parse_interval(const std::string& text);
/// By age where the keeper set nothing: hatchlings 5 to 7 days, adults 10 to 14 (common practice, no source).
Interval usual_interval(std::optional<DayNumber> hatched, DayNumber today);

/// What the book knows of one animal's feeding and company, for one day's list.
struct AnimalFacts {
  std::optional<DayNumber> last_meal;     ///< number of the feeding night
  int servings = 0;                       ///< of that night
  std::optional<DayNumber> last_refusal;  ///< night of the newest refusal after the last meal
  int refusals = 0;                       ///< nights refused since the last meal
  std::optional<DayNumber> open_offer;    ///< night of an offer that waits for its outcome
  std::optional<DayNumber> check_tub;     ///< night whose accounts contradict each other
  std::string caution;                    ///< fed-twice, perhaps-fed-twice
  std::optional<DayNumber> caution_night;
  std::optional<DayNumber> opaque;        ///< day seen opaque, no shed since
  std::optional<DayNumber> regurgitated;  ///< day, no meal since
  std::optional<DayNumber> registered;    ///< day it came into the book
  Interval interval;
};

enum class Due : std::uint8_t {
  nothing,
  food,
  overdue,
  open_offer,
  check_tub,
  off_feed,
  leave_alone,
  separate,
  two_in_tub
};
std::string_view word_of(Due due);

struct DueLine {
  Due due = Due::nothing;
  int days = 0;     ///< since when, in days or nights
  std::string why;  ///< for people: "last ate 9 nights ago, every 7-10 days"
};

/// Rest after a regurgitation before food is offered again (common practice, no source; ask a veterinarian).
constexpr int kRestAfterRegurgitation = 10;
/// Refusals in a row that make "off feed" (common practice, no source; a setting comes with the full list).
constexpr int kRefusalsOffFeed = 3;

/// All that is due for one animal this night, the most urgent first.
std::vector<DueLine> due_for(const AnimalFacts& facts, DayNumber tonight);

}  // namespace rackside::core
