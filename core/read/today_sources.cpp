// Lines of the day's list that come of more than one animal's own facts.
#include <algorithm>
#include <array>
#include <set>
#include <unordered_map>

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

/// Who was with whom on a visit since `since`, each way round.
using Partners = std::unordered_map<Thing, std::set<Thing>>;

/// Read once for all, by the end of the visit: an animal's own stays reach back to its first day.
Partners partners_since(Database& database, Instant since) {
  Partners out;
  for (const char* sql : {"SELECT animal, partner FROM stay WHERE until IS NULL AND role = 1 AND partner IS NOT NULL",
                          "SELECT animal, partner FROM stay WHERE until > ? AND role = 1 AND partner IS NOT NULL"}) {
    const bool ended = std::string_view(sql).find('?') != std::string_view::npos;
    auto query = database.prepare(sql);
    if (ended) query.bind(since);
    while (query.step()) {
      out[query.integer(0)].insert(query.integer(1));
      out[query.integer(1)].insert(query.integer(0));
    }
  }
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
  if (problems.empty()) return {};
  std::vector<SourcedLine> out;
  std::set<Thing> told;
  const auto tell = [&](Thing animal, const Problem& problem, const std::string& how) {
    if (themselves.contains(animal) || !told.insert(animal).second) return;
    const int since = view.moment.today - problem.since;
    out.push_back({animal,
                   {Due::near_ill, since,
                    how + " " + problem.row->label + ", which " + problem.what + " since " + date_text(problem.since) +
                        ": look, and wash hands between the two"}});
  };
  const Instant since = view.now - view.settings.limits[Limit::neighbour_days] * kDay;
  const Partners partners = partners_since(view.reader.book().database(), since);
  for (const Problem& problem : problems) {
    const Thing place = view.whereabouts.of(problem.row->animal).front().place;
    for (const Thing other : view.racks.beside(place)) {
      for (const Thing animal : view.whereabouts.found_at(other)) tell(animal, problem, "next to");
    }
    const auto its_partners = partners.find(problem.row->animal);
    if (its_partners == partners.end()) continue;
    for (const Thing animal : its_partners->second) tell(animal, problem, "was with");
  }
  return out;
}

constexpr std::array<LineSource, 3> kSources = {lines_near_ill, lines_of_rotation, lines_of_eggs};

}  // namespace

std::span<const LineSource> line_sources() {
  return kSources;
}

}  // namespace rackside::core
