#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/log/kinds.h"
#include "core/time/zone.h"

// How far a young one is: from the egg to "ready to go". Pure.
namespace rackside::core {

/// One thing seen of a young one that matters for its start, days of feeding nights for food.
struct YoungFact {
  DayNumber day = 0;
  Kind kind = Kind::unknown;  ///< fed, ate, refused, leftover, offered, regurgitated, shed, treated, sexed, held, …
  std::string prey;           ///< of food; empty: as usual, not said
  std::string how;            ///< tongs, dish, assisted; empty: not said
  int repeat_days = 0;        ///< of `treated`
};

/// What the keeper asks of a young one before it is ready.
struct ReadyRules {
  int meals = kUsualMeals;  ///< unassisted, one after another, none of them brought up
  bool shed = true;
  bool sexed = true;
  /// Common practice, no source: three to five meals without help are asked of a young colubrid.
  static constexpr int kUsualMeals = 4;
};

/// What was offered before it began to eat, most often first.
struct Tried {
  std::string prey;
  std::string how;
  int times = 0;
  DayNumber last = 0;
  bool operator==(const Tried&) const = default;
};

struct YoungState {
  enum class Stage : std::uint8_t {
    before_shed,  ///< not offered food yet, the first shed is to come
    not_begun,    ///< has not eaten without help
    begun,        ///< eats; something is missing still
    ready,        ///< nothing is missing
    kept,         ///< nothing is missing but a reason not to go: under treatment, held back
  } stage = Stage::before_shed;
  std::optional<DayNumber> first_shed;
  bool sexed = false;
  int meals = 0;     ///< unassisted, in a row up to now
  int assisted = 0;  ///< meals with help, in all
  std::vector<Tried> tried;
  std::vector<std::string> missing;   ///< for people: "first shed", "2 more meals"
  std::vector<std::string> kept_for;  ///< for people: "under treatment since 2026-11-20"
};
std::string_view word_of(YoungState::Stage stage);

/// `facts` ascending by day. An animal that was treated is under treatment until its repeat day and a week have passed,
/// at least two weeks in all (common practice, no source; a veterinarian decides). Held back stays so until it is sold
/// or reserved.
YoungState young_state(std::span<const YoungFact> facts, bool sex_known, const ReadyRules& rules, DayNumber today);

}  // namespace rackside::core
