#include "core/read/today.h"

#include <algorithm>
#include <sstream>
#include <unordered_map>

#include "core/read/due_board.h"
#include "core/read/snapshot.h"

namespace rackside::core {
namespace {

constexpr Instant kDayTurns = 7 * kHour;  ///< before noon

/// `partner`: its label, empty when it is not known.
DueLine company_line(const Zone& zone, std::string partner, Instant since, Instant now) {
  const int days = zone.day_of(now) - zone.day_of(since);
  const std::string with = partner.empty() ? "another" : std::move(partner);
  return {Due::separate, days,
          "with " + with + " since " + (days == 0 ? "today" : std::to_string(days) + (days == 1 ? " day" : " days"))};
}

void add_company(Reader& reader, Thing animal, Instant now, std::vector<DueLine>& out) {
  for (const Lodging& lodging : reader.lodgings_of(animal, now)) {
    if (lodging.role != Stay::Role::visiting) continue;
    const std::string partner = lodging.partner ? reader.label(*lodging.partner) : "";
    out.push_back(company_line(reader.settings().zone, partner, lodging.since, now));
  }
}

/// Animals that stand in two places by two accounts, and those they may be with: each tub is to be checked.
std::map<Thing, DueLine> doubtful_places(Reader& reader) {
  std::map<Thing, DueLine> out;
  std::vector<std::pair<Thing, EventRow>> pairings;
  // Not Reader::questions: a large book may have thousands, and their names and hashes are not wanted here. Where an
  // animal is, only its newest question tells.
  for (const RuleId rule : {RuleId::whereabouts, RuleId::pairing}) {
    auto query = reader.book().database().prepare(
        "SELECT subject, members, max(at) FROM matter INDEXED BY matter_open WHERE rule = ? AND answers <> '' AND asks "
        "= "
        "1 GROUP BY subject");
    query.bind(static_cast<int>(rule));
    while (query.step()) {
      const Thing subject = query.integer(0);
      out[subject] = {Due::check_tub, 0, "in two places by two accounts: find it"};
      std::istringstream members{std::string(query.text(1))};
      for (EventRow row = 0; members >> row;) {
        const auto kind = static_cast<Kind>(reader.book().log().judged_of(row).mark >> kMarkKindShift);
        if (kind == Kind::paired) pairings.emplace_back(subject, row);
      }
    }
  }
  for (const auto& [subject, row] : pairings) {
    for (const std::string& code : reader.book().log().event_of(row)->of) {
      const auto other = reader.thing_of(code);
      if (!other || *other == subject || out.contains(*other)) continue;
      out[*other] = {Due::check_tub, 0, reader.label(subject) + " may be with it: look, and separate them"};
    }
  }
  return out;
}

/// Puts lines to their racks.
class TodayWriter {
 public:
  TodayWriter(Reader& reader, const RackMap& map, Today& today) : map_(map), today_(today) {
    const auto quarantines = reader.field_of_all("quarantine");
    for (const Named& rack : reader.racks()) {
      rack_index_[rack.thing] = today.racks.size();
      const auto quarantine = quarantines.find(rack.thing);
      today.racks.push_back({rack, quarantine != quarantines.end() && quarantine->second == "yes", {}, {}});
    }
    today.racks.push_back({});
  }

  void count(const BoardRow& row, const std::optional<Thing>& place) { rack_at(place).count.add(row.sex); }

  void add(const BoardRow& row, const std::optional<Thing>& place, std::vector<DueLine>&& lines,
           const CareSettings& settings, bool resting) {
    if (lines.empty()) return;
    const Named animal{row.animal, row.code, "animal", row.label};
    std::optional<TodayPlace> where;
    if (place) where = {*place, map_.spot_of(*place)};
    const std::string prey = meal_text(diet_on(row, settings, today_.night));
    TodayRack& rack = rack_at(place);
    for (DueLine& line : lines) rack.lines.push_back({animal, where, std::move(line), prey, resting});
  }

  /// In walking order, and by label where there is none.
  void sort() {
    for (TodayRack& rack : today_.racks) {
      std::stable_sort(rack.lines.begin(), rack.lines.end(), [](const TodayLine& a, const TodayLine& b) {
        const auto first = position(a);
        const auto second = position(b);
        if (first != second) return first < second;
        return is_named_before(a.animal, b.animal);
      });
    }
    std::erase_if(today_.racks, [](const TodayRack& rack) { return rack.lines.empty() && !rack.rack; });
  }

 private:
  TodayRack& rack_at(const std::optional<Thing>& place) {
    const auto rack = place ? map_.rack_of(*place) : std::nullopt;
    const auto found = rack ? rack_index_.find(*rack) : rack_index_.end();
    return found == rack_index_.end() ? today_.racks.back() : today_.racks[found->second];
  }

  static std::int64_t position(const TodayLine& line) { return line.place ? line.place->spot.position : 0; }

  const RackMap& map_;
  Today& today_;
  std::unordered_map<Thing, std::size_t> rack_index_;
};

/// Labels of the animals of a board without asking the book again.
class Labels {
 public:
  Labels(Reader& reader, const std::vector<BoardRow>& board) : reader_(reader) {
    for (const BoardRow& row : board) rows_[row.animal] = &row;
  }
  std::string of(const std::optional<Thing>& animal) const {
    if (!animal) return {};
    const BoardRow* row = rows_.of(*animal);
    return row ? row->label : reader_.label(*animal);
  }

 private:
  Reader& reader_;
  ThingTable<const BoardRow*> rows_;
};

/// Lines of further sources, by animal.
std::unordered_map<Thing, std::vector<DueLine>> further_lines(const TodayView& view) {
  std::unordered_map<Thing, std::vector<DueLine>> out;
  for (const LineSource& source : line_sources()) {
    for (SourcedLine& one : source(view)) out[one.animal].push_back(std::move(one.line));
  }
  return out;
}

}  // namespace

bool is_named_before(const Named& a, const Named& b) {
  const int order = compare_naturally(a.label, b.label);
  return order != 0 ? order < 0 : a.code < b.code;
}

std::size_t Today::count(Due due) const {
  std::size_t number = 0;
  for (const TodayRack& rack : racks) {
    number += static_cast<std::size_t>(std::count_if(rack.lines.begin(), rack.lines.end(),
                                                     [&](const TodayLine& line) { return line.due.due == due; }));
  }
  return number;
}

DayNumber evening(const FoldSettings& settings, Instant now) {
  return night_of(settings.zone, settings.night_start_minute, now + kDayTurns).number;
}

Moment moment_of(const FoldSettings& settings, Instant now) {
  return {evening(settings, now), settings.zone.day_of(now), now};
}

AnimalFacts facts_of(Reader& reader, Thing animal, Instant now) {
  const CareSettings settings = care_settings(reader);
  return facts_on(work_out(reader, settings, animal, now), settings, reader.settings().zone.day_of(now));
}

std::vector<DueLine> due_at_tub(Reader& reader, Thing animal, Instant now) {
  const CareSettings settings = care_settings(reader);
  const Moment moment = moment_of(reader.settings(), now);
  const BoardRow row = work_out(reader, settings, animal, now);
  std::vector<DueLine> out = due_for(facts_on(row, settings, moment.today), settings.limits, moment);
  add_company(reader, animal, now, out);
  return out;
}

std::size_t count_open_questions(Reader& reader) {
  auto query = reader.book().database().prepare("SELECT count(*) FROM matter WHERE answers <> '' AND asks = 1");
  return query.step() ? static_cast<std::size_t>(query.integer(0)) : 0;
}

Today today_list(Reader& reader, Instant now) {
  const CareSettings settings = care_settings(reader);
  const Moment moment = moment_of(reader.settings(), now);
  Today today{.night = moment.tonight};
  std::vector<BoardRow> board = due_board(reader, settings, now);
  for (BoardRow& row : board) take_day(row, settings, moment.today);
  const RackMap racks(reader);
  const Snapshot snapshot(reader.book().database());
  const std::map<Thing, DueLine> doubtful = doubtful_places(reader);
  const Whereabouts whereabouts(reader, now, board.size());
  const Labels labels(reader, board);
  TodayWriter writer(reader, racks, today);
  auto further = further_lines({reader, now, moment, settings, board, whereabouts, racks});
  for (const BoardRow& row : board) {
    const auto lodgings = whereabouts.of(row.animal);
    if (lodgings.empty() && !reader.lives_here(row.animal)) continue;
    const auto place = lodgings.empty() ? std::nullopt : std::optional(lodgings.front().place);
    ++today.animals;
    today.sexes.add(row.sex);
    writer.count(row, place);
    const AnimalFacts& facts = row.facts;
    ++today.meals[meal_state(facts, settings.limits, moment).state];
    const bool resting = rests_after_meal(facts, settings.limits, moment);
    if (resting) today.resting.push_back({row.animal, row.code, "animal", row.label});
    std::vector<DueLine> lines = due_for(facts, settings.limits, moment);
    for (const auto& lodging : lodgings) {
      if (lodging.role != Stay::Role::visiting) continue;
      lines.push_back(company_line(reader.settings().zone, labels.of(lodging.partner), lodging.since, now));
    }
    if (const auto more = further.find(row.animal); more != further.end())
      std::move(more->second.begin(), more->second.end(), std::back_inserter(lines));
    if (resting) std::erase_if(lines, [](const DueLine& line) { return info_of(line.due).handles; });
    if (doubtful.contains(row.animal)) lines.insert(lines.begin(), doubtful.at(row.animal));
    const bool at_home = !lodgings.empty() && lodgings.front().role == Stay::Role::home;
    if (at_home && whereabouts.is_crowded(lodgings.front().place))
      lines.insert(lines.begin(), {Due::two_in_tub, 0, "two animals in one tub that were not paired: look at once"});
    writer.add(row, place, std::move(lines), settings, resting);
  }
  writer.sort();
  return today;
}

}  // namespace rackside::core
