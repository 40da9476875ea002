// Lines of the day's list that come of more than one animal's own facts.
#include <algorithm>
#include <array>
#include <set>

#include "core/read/season_lines.h"
#include "core/read/today.h"

namespace rackside::core {
namespace {

struct Problem {
  const BoardRow* row = nullptr;
  DayNumber since = 0;
  std::string what;  ///< "looks unwell (mites)", "is under treatment"
};

std::optional<Problem> problem_of(const BoardRow& row, const TodayView& view) {
  const AnimalFacts& facts = row.facts;
  if (facts.ill)
    return Problem{&row, *facts.ill, "looks unwell" + (facts.signs.empty() ? "" : " (" + facts.signs + ")")};
  if (!under_treatment(facts, view.settings.limits, view.moment.today)) return std::nullopt;
  DayNumber first = facts.courses.front().day;
  for (const Course& course : facts.courses) first = std::min(first, course.day);
  return Problem{&row, first, "is under treatment"};
}

/// Who was with an animal on a visit, either way, since `since`.
std::set<Thing> partners_of(const TodayView& view, Thing animal, Instant since) {
  std::set<Thing> out;
  auto own = view.reader.book().database().prepare(
      "SELECT partner FROM stay WHERE animal = ? AND role = 1 AND partner IS NOT NULL AND (until IS NULL OR until > "
      "?)");
  own.bind(animal, since);
  while (own.step()) out.insert(own.integer(0));
  const auto lodgings = view.whereabouts.of(animal);
  for (const auto& lodging : lodgings) {
    if (lodging.role != Stay::Role::home) continue;
    auto guests = view.reader.book().database().prepare(
        "SELECT animal FROM stay WHERE place = ? AND role = 1 AND partner = ? AND (until IS NULL OR until > ?)");
    guests.bind(lodging.place, animal, since);
    while (guests.step()) out.insert(guests.integer(0));
  }
  out.erase(animal);
  return out;
}

/// Neighbours and partners of an animal that is ill or under treatment: looked at too, and hands washed between.
std::vector<SourcedLine> lines_near_ill(const TodayView& view) {
  std::vector<Problem> problems;
  std::set<Thing> themselves;
  for (const BoardRow& row : view.board) {
    // Whoever is gone endangers nobody here any more.
    if (view.whereabouts.of(row.animal).empty()) continue;
    if (auto problem = problem_of(row, view)) {
      themselves.insert(row.animal);
      problems.push_back(std::move(*problem));
    }
  }
  std::vector<SourcedLine> out;
  std::set<Thing> told;
  const auto tell = [&](Thing animal, const Problem& problem, const std::string& how) {
    if (themselves.contains(animal) || !told.insert(animal).second) return;
    const int since = view.moment.today - problem.since;
    out.push_back({animal,
                   {Due::near_ill, since,
                    how + " " + view.reader.label(problem.row->animal) + ", which " + problem.what + " since " +
                        date_text(problem.since) + ": look, and wash hands between the two"}});
  };
  for (const Problem& problem : problems) {
    const Thing place = view.whereabouts.of(problem.row->animal).front().place;
    for (const Thing other : view.racks.beside(place)) {
      for (const Thing animal : view.whereabouts.found_at(other)) tell(animal, problem, "next to");
    }
    const Instant since = view.now - view.settings.limits[Limit::neighbour_days] * kDay;
    for (const Thing animal : partners_of(view, problem.row->animal, since)) tell(animal, problem, "was with");
  }
  return out;
}

constexpr std::array<LineSource, 3> kSources = {lines_near_ill, lines_of_rotation, lines_of_eggs};

}  // namespace

std::span<const LineSource> line_sources() {
  return kSources;
}

}  // namespace rackside::core
