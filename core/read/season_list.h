#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/husbandry/season.h"
#include "core/read/reader.h"

// The breeding calendar of a book.
namespace rackside::core {

struct CalendarLine {
  Named female;
  std::optional<Named> place;
  Expected expected;
};

/// The setting that holds a species' own range for a step: "season/corn snake/laying-to-hatching".
std::string season_setting(std::string_view species, Step step);
/// What comes with the program, the keeper's own settings before it.
SeasonRules season_rules(Reader& reader, const std::string& species);

/// The kinds that tell of a season.
bool tells_of_season(Kind kind);
/// What the book knows of one animal's seasons, oldest first.
std::vector<SeasonFact> facts_of_season(Reader& reader, Thing animal);

/// All that is expected of females that live here and of their clutches, earliest window first.
std::vector<CalendarLine> season_list(Reader& reader, Instant now);

}  // namespace rackside::core
