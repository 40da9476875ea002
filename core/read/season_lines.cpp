#include "core/read/season_lines.h"

#include <cmath>

#include "core/read/rotation_list.h"
#include "core/read/season_list.h"

namespace rackside::core {
namespace {

/// So many days before the window a line appears: time to give a nest box, to have the incubator warm.
constexpr int kDaysAhead = 7;

std::string window_text(const Expected& expected) {
  std::string out = "probably " + date_text(expected.first);
  if (expected.last != expected.first) out += " to " + date_text(expected.last);
  out += " (right " + std::to_string(std::lround(expected.window.chance * 10)) + " times in 10)";
  return out + (expected.late == 0
                    ? ""
                    : ", " + std::to_string(expected.late) + (expected.late == 1 ? " day" : " days") + " late");
}

DueLine line_of(const Expected& expected, DayNumber today) {
  const int since = std::max(0, today - expected.first);
  const std::string window = window_text(expected);
  const bool late = expected.late > 0;
  switch (expected.step) {
    case Step::laying_to_hatching:
      return {Due::hatching, since,
              "eggs of " + date_text(expected.since) + " hatch " + window +
                  (late ? ": look at each egg" : ": look in the egg box")};
    case Step::ovulation_to_shed:
      return {Due::eggs, since, "sheds before laying " + window};
    default:
      return {Due::eggs, since,
              "lays " + window +
                  (late ? ": look at her, and ask a veterinarian if she strains" : ": a nest box, and look daily")};
  }
}

}  // namespace

std::vector<SourcedLine> lines_of_rotation(const TodayView& view) {
  std::vector<SourcedLine> out;
  for (const RotationLine& line : rotation_list(view.reader, view.now)) {
    if (!line.advice.out_of && !line.advice.into) continue;
    std::string why = line.errand;
    if (line.advice.into) why += " with " + view.reader.label(*line.advice.into);
    if (!line.advice.why.empty()) why += ": " + line.advice.why;
    out.push_back({line.male.thing, {Due::rotate, 0, std::move(why)}});
  }
  return out;
}

std::vector<SourcedLine> lines_of_eggs(const TodayView& view) {
  struct Species {
    SeasonRules rules;
    PastDays own;
    StepWindows windows;
  };
  std::map<std::string_view, Species> known;
  std::vector<const BoardRow*> waiting;
  for (const BoardRow& row : view.board) {
    if (row.species.empty() || (row.season.progress.is_empty() && row.season.past.empty())) continue;
    const auto [species, is_new] = known.try_emplace(row.species);
    if (is_new) species->second.rules = season_rules(view.reader, row.species);
    add_past(row.season.past, species->second.rules, species->second.own);
    if (!row.season.progress.is_empty() && !view.whereabouts.of(row.animal).empty()) waiting.push_back(&row);
  }
  for (auto& [name, species] : known) species.windows = windows_of(species.rules, species.own);
  std::vector<SourcedLine> out;
  for (const BoardRow* row : waiting) {
    const StepWindows& windows = known.at(row->species).windows;
    for (const Expected& expected : expected_of(row->season.progress, windows, view.moment.today)) {
      if (expected.first - kDaysAhead <= view.moment.today)
        out.push_back({row->animal, line_of(expected, view.moment.today)});
    }
  }
  return out;
}

}  // namespace rackside::core
