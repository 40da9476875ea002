#include "core/read/inspection.h"

#include <algorithm>

#include "core/read/accounts.h"
#include "core/read/family.h"

namespace rackside::core {
namespace {

DayNumber begins(const InspectionLine& line) {
  const auto acquired = first_day_of(line.acquired);
  const auto hatched = first_day_of(line.hatched);
  return acquired ? *acquired : hatched ? *hatched : line.registered;
}

bool is_within(const InspectionLine& line, DayNumber from, DayNumber to) {
  if (begins(line) > to) return false;
  const std::optional<DayNumber> end = line.died ? line.died : line.left;
  return !end || *end >= from;
}

}  // namespace

std::optional<DayNumber> first_day_of(const std::string& date) {
  constexpr std::size_t kYear = 4;
  constexpr std::size_t kMonth = 7;
  DayNumber out = 0;
  const std::string whole = date.size() == kYear ? date + "-01-01" : date.size() == kMonth ? date + "-01" : date;
  return parse_date(whole, out) ? std::optional(out) : std::nullopt;
}

std::string supplier_of(Reader& reader, Thing animal) {
  std::vector<EventRow> rows;
  {
    auto query = reader.book().database().prepare(
        "SELECT subject, event FROM edit WHERE subject = ?1 UNION SELECT subject, event FROM account WHERE subject = "
        "?1 AND "
        "kind IN (?2, ?3) ORDER BY event DESC");
    query.bind(animal, static_cast<int>(Kind::animal), static_cast<int>(Kind::edited));
    while (query.step()) rows.push_back(query.integer(1));
  }
  std::string best;
  Instant newest = INT64_MIN;
  for (const EventRow row : rows) {
    const auto part = reader.book().sealed_of(row);
    if (!part) continue;
    const std::string supplier(parse_strict(part->text).value.text("supplier"));
    const StoryLine line = reader.line(row);
    if (supplier.empty() || line.gone || line.at <= newest) continue;
    best = supplier;
    newest = line.at;
  }
  return best;
}

std::string age_text(const std::string& hatched, DayNumber on) {
  const auto first = first_day_of(hatched);
  if (!first || *first > on) return {};
  constexpr int kYearDays = 365;
  constexpr int kMonthDays = 30;
  const int days = on - *first;
  const auto counted = [](int count, const char* word) {
    return std::to_string(count) + " " + word + (count == 1 ? "" : "s");
  };
  constexpr std::size_t kWholeDate = 10;
  const std::string about = hatched.size() < kWholeDate ? "about " : "";
  // Calendar years: somebody is a year old on the day of the next year, not after 365 days.
  const int years = std::stoi(date_text(on).substr(0, 4)) - std::stoi(date_text(*first).substr(0, 4)) -
                    (date_text(on).substr(5) < date_text(*first).substr(5) ? 1 : 0);
  if (years >= 2 || (years == 1 && days >= kYearDays)) return about + counted(years, "year");
  if (days >= 2 * kMonthDays) return about + counted(days / kMonthDays, "month");
  return about + counted(days, "day");
}

std::vector<InspectionLine> inspection_list(Reader& reader, DayNumber from, DayNumber to) {
  std::vector<InspectionLine> out;
  for (const Named& animal : reader.all("animal")) {
    InspectionLine line{.animal = animal};
    line.species = reader.field(animal.thing, "species");
    line.sex = reader.field(animal.thing, "sex");
    line.hatched = reader.field(animal.thing, "hatched");
    line.acquired = reader.field(animal.thing, "acquired");
    const auto source = reader.field_source(animal.thing, "registered");
    if (source) line.registered = reader.settings().zone.day_of(reader.line(*source).at);
    for (const AccountFact& fact :
         accounts_of(reader, animal.thing, {Kind::treated, Kind::sold, Kind::left, Kind::died})) {
      const DayNumber day = reader.settings().zone.day_of(fact.at);
      if (fact.kind == Kind::sold) line.sold = day;
      if (fact.kind == Kind::left) line.left = day;
      if (fact.kind == Kind::died) line.died = day;
      if (fact.kind == Kind::treated && day >= from && day <= to)
        line.treatments.push_back(
            {day, std::string(reader.book().log().event_of(fact.row)->own.text("with", "not said"))});
    }
    if (!is_within(line, from, to)) continue;
    line.supplier = supplier_of(reader, animal.thing);
    line.parents = parents_text(reader, parents_said(reader, animal.thing));
    out.push_back(std::move(line));
  }
  return out;
}

}  // namespace rackside::core
