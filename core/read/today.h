#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/husbandry/plan.h"
#include "core/read/due_board.h"
#include "core/read/rack_map.h"
#include "core/read/whereabouts.h"

namespace rackside::core {

struct TodayPlace {
  Thing thing = 0;
  RackMap::Spot spot;
};

struct TodayLine {
  Named animal;
  std::optional<TodayPlace> place;  ///< where it is found now
  DueLine due;
  std::string prey;      ///< what it gets, as people say it: "2 × fuzzy"
  bool resting = false;  ///< it ate so lately that nobody is asked to handle it
};

/// Animals as the trade counts them.
struct SexCount {
  int males = 0;
  int females = 0;
  int unsexed = 0;
  void add(std::string_view sex) { ++(sex == "male" ? males : sex == "female" ? females : unsexed); }
  int all() const { return males + females + unsexed; }
};

struct TodayRack {
  std::optional<Named> rack;  ///< empty: animals without a place
  bool quarantine = false;
  std::vector<TodayLine> lines;  ///< in walking order
  SexCount count;                ///< of all who are found here
};

/// The day's list: by rack in the order of the walk, quarantine last.
struct Today {
  DayNumber night = 0;
  std::vector<TodayRack> racks;
  std::size_t animals = 0;  ///< living here
  SexCount sexes;
  std::map<Meal, std::size_t> meals;  ///< how many stand how with their next meal
  std::vector<Named> resting;         ///< after a meal, in no order: no pairing, weighing, moving or shipping
  std::size_t count(Due due) const;
};

/// By label, as people count, then by code.
bool is_named_before(const Named& a, const Named& b);

/// What a further source of lines sees.
struct TodayView {
  Reader& reader;
  Instant now = 0;
  Moment moment;
  const CareSettings& settings;
  const std::vector<BoardRow>& board;  ///< of all registered animals, with the facts of the day
  const Whereabouts& whereabouts;
  const RackMap& racks;
};
struct SourcedLine {
  Thing animal = 0;
  DueLine line;
};
/// Lines that come of more than one animal's own facts: one function each. To add one: a row in today_sources.cpp.
/// Lines that ask to handle an animal (`DueInfo::handles`) are left out while it rests after a meal, whoever gives
/// them.
using LineSource = std::vector<SourcedLine> (*)(const TodayView& view);
std::span<const LineSource> line_sources();

/// The feeding night that people mean by "tonight": from five in the morning on they plan the coming evening.
DayNumber evening(const FoldSettings& settings, Instant now);
Moment moment_of(const FoldSettings& settings, Instant now);

Today today_list(Reader& reader, Instant now);

/// How many questions are open, without reading them.
std::size_t count_open_questions(Reader& reader);

/// What the rules of the day read of one animal.
AnimalFacts facts_of(Reader& reader, Thing animal, Instant now);

/// Due lines of one animal, company included: what a scan shows. Lines of other sources are only on the day's list.
std::vector<DueLine> due_at_tub(Reader& reader, Thing animal, Instant now);

}  // namespace rackside::core
