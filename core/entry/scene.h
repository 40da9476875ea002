#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/husbandry/plan.h"
#include "core/read/reader.h"

namespace rackside::core {

/// An account that the screen shows.
struct Seen {
  EventRef ref;
  Kind kind = Kind::unknown;
  Instant at = 0;
};

/// Another animal that is with it while one of them visits.
struct Company {
  Named animal;
  EventRef by;              ///< the move that brought them together
  bool is_visitor = false;  ///< the other is the guest
};

/// An animal as the screen shows it.
struct Resident {
  Named animal;
  std::string code;               ///< as read from its card, else its own
  std::string sex;                ///< male, female, unknown or empty
  std::vector<Lodging> lodgings;  ///< where it is: a visit before its home
  std::optional<Named> home_place;
  std::optional<Company> company;
  std::vector<Seen> recent;  ///< live accounts of the last 60 days, newest first; of kinds without a rule, the newest
  std::vector<Seen> open_offers;           ///< offers of its newest night with food that wait for an outcome
  std::optional<NightOutcome> last_night;  ///< its newest night with an account of food
  std::optional<Seen> gone;                ///< the newest `left` or `died`, unless it was moved since
  std::optional<Instant> dose_in_doubt;    ///< two accounts of the last days that may be of one dose
  bool sold = false;
  std::optional<std::int64_t> last_grams_tenths;
  std::optional<DayNumber> hatched;
  AnimalFacts facts;  ///< what the rules of the day read of it

  const Lodging* visit() const;
  const Lodging* home() const;
};

/// What was scanned, and what the screen shows of it: all that an entry may answer. Filled from the book by `look`;
/// tests and the phone page fill their own.
struct Scene {
  Named scanned;
  std::string code;  ///< as read
  bool is_place = false;
  bool known = true;               ///< false: the book does not hold its registration yet
  Instant at = 0;                  ///< when it was seen
  Night night;                     ///< the feeding night of `at`
  DayNumber day = 0;               ///< the local day of `at`
  std::vector<Resident> found;     ///< for a card the animal; for a place who is found there, visitors included
  std::vector<Resident> reserved;  ///< for a place: who lives there and is elsewhere on a visit
  Limits limits;                   ///< of care, as the keeper set them
  Moment moment;                   ///< of `at`, for the rules of the day
  std::string quarantine_before;   ///< the place of this device's newest entry, where that stands in quarantine and
                                   ///< what was scanned does not
  std::vector<EventRef> moves;     ///< for a place: moves that brought or took animals within a day
};

/// What a book shows of a thing: an animal's card (or a group's, a clutch's) or a place. The only function of this
/// folder that reads the book. `code` as read, empty: the thing's own.
Scene look(Reader& reader, const Named& scanned, const std::string& code, Instant at);
/// Moves that began or ended a stay at the place within the last day: the screen shows their outcome, so a scan knows
/// of them. An end is known by the animal's next stay or by the move that took it away.
std::vector<EventRef> moves_at(Reader& reader, Thing place, Instant at);
/// For a code that is well-formed and that the book does not know yet.
Scene look_unknown(Reader& reader, const Code& code, Instant at);

}  // namespace rackside::core
