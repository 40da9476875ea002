#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/husbandry/facts.h"
#include "core/husbandry/limits.h"

// What is due at a tub, from facts that the reader gathered. Pure: no I/O, no clock. The phone's twin is
// sync/page/app/aisle/due.mjs; tests/vectors holds both to one table.
namespace rackside::core {

enum class Due : std::uint8_t {
  nothing,
  food,
  overdue,
  open_offer,
  check_tub,
  off_feed,
  leave_alone,
  separate,
  two_in_tub,
  dose,
  stuck_shed,
  shed_late,
  weight_loss,
  ill,
  near_ill,
  unseen,
  rotate,
  eggs,        ///< she is to lay, or to shed before it
  hatching,    ///< her clutch is to hatch
  look_again,  ///< shed for the first time since nobody could tell its look
};

struct DueInfo {
  Due due;
  std::string_view word;  ///< "check tub"
  bool is_sign;           ///< somebody must look at the animal: told with a warning
  bool handles;           ///< asks to take the animal out: not while it rests after a meal
};
const DueInfo& info_of(Due due);
std::string_view word_of(Due due);

struct DueLine {
  Due due = Due::nothing;
  int days = 0;     ///< since when, in days or nights
  std::string why;  ///< for people: "last ate 9 nights ago, every 7-10 days"
};

/// The time of a list: the night that people plan for, the day it is, and the moment.
struct Moment {
  DayNumber tonight = 0;
  DayNumber today = 0;
  std::optional<Instant> now;  ///< unset: noon of the day, UTC; only hours after a meal ask for more
};

/// How it stands with the next meal.
enum class Meal : std::uint8_t {
  early,     ///< not due yet
  due,       ///< from the shorter interval on
  overdue,   ///< after the longer one
  none_yet,  ///< no meal in this book: due
  waits,     ///< food is in the tub
  contradicted,
  opaque,
  rests,  ///< after a regurgitation
  fasts,
  gravid,  ///< and the keeper does not feed gravid females
};
struct MealState {
  Meal state = Meal::early;
  int days = 0;  ///< early: until it is due; due, overdue: since; rests, opaque, fasts: since
};
MealState meal_state(const AnimalFacts& facts, const Limits& limits, const Moment& moment);
/// Whether it is to be fed tonight.
bool is_to_be_fed(Meal state);

/// Within the hours after a meal in which nobody is asked to handle it.
bool rests_after_meal(const AnimalFacts& facts, const Limits& limits, const Moment& moment);
/// A course that goes on, or a dose so lately that it counts as under treatment.
bool under_treatment(const AnimalFacts& facts, const Limits& limits, DayNumber today);
bool is_fasting(const AnimalFacts& facts, DayNumber day);
bool is_gravid(const AnimalFacts& facts, const Limits& limits, DayNumber day);

/// Refusals in a row that make it off feed, by its own habit where the book knows one.
int refusals_off_feed(const AnimalFacts& facts, const Limits& limits);

/// All that is due for one animal, the most urgent first.
std::vector<DueLine> due_for(const AnimalFacts& facts, const Limits& limits, const Moment& moment);

}  // namespace rackside::core
