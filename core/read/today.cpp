#include "core/read/today.h"

#include <algorithm>
#include <sstream>
#include <unordered_map>

#include "core/read/due_board.h"
#include "core/read/snapshot.h"

namespace rackside::core {
namespace {

constexpr Instant kDayTurns = 7 * kHour;  ///< before noon: from five in the morning on, people plan the coming evening

/// The feeding night that people mean by "tonight".
DayNumber evening(const FoldSettings& settings, Instant now) {
  return night_of(settings.zone, settings.night_start_minute, now + kDayTurns).number;
}

DueLine company_line(Reader& reader, const std::optional<Thing>& partner, Instant since, Instant now) {
  const Zone& zone = reader.settings().zone;
  const int days = zone.day_of(now) - zone.day_of(since);
  const std::string with = partner ? reader.label(*partner) : "another";
  return {Due::separate, days,
          "with " + with + " since " + (days == 0 ? "today" : std::to_string(days) + (days == 1 ? " day" : " days"))};
}

void add_company(Reader& reader, Thing animal, Instant now, std::vector<DueLine>& out) {
  for (const Lodging& lodging : reader.lodgings_of(animal, now)) {
    if (lodging.role == Stay::Role::visiting) out.push_back(company_line(reader, lodging.partner, lodging.since, now));
  }
}

/// Animals that stand in two places by two accounts, and those they may be with: each tub is to be checked.
std::map<Thing, DueLine> doubtful_places(Reader& reader) {
  std::map<Thing, DueLine> out;
  std::vector<std::pair<Thing, EventRow>> pairings;
  // Not Reader::questions: a large book may have thousands, and their names and hashes are not wanted here.
  for (const RuleId rule : {RuleId::whereabouts, RuleId::pairing}) {
    auto query = reader.book().database().prepare(
        "SELECT subject, members FROM matter WHERE rule = ? AND answers <> '' AND asks = 1 ORDER BY at, lead");
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

/// Who is where at one moment, read at once: a look for each animal would take longer than all the rest.
class Whereabouts {
 public:
  struct Place {
    Thing animal = 0;
    Thing place = 0;
    Stay::Role role = Stay::Role::home;
    Instant since = 0;
    std::optional<Thing> partner;
  };

  Whereabouts(Reader& reader, Instant now) {
    for (const char* sql : {"SELECT animal, role, place, since, partner FROM stay WHERE until IS NULL AND since <= ?",
                            "SELECT animal, role, place, since, partner FROM stay WHERE until > ? AND since <= ?1"}) {
      auto query = reader.book().database().prepare(sql);
      query.bind(now);
      while (query.step()) read(query);
    }
    // A visit before its home, as Reader::lodgings_of has it.
    for (auto& [animal, all] : of_) {
      std::sort(all.begin(), all.end(),
                [](const Place& a, const Place& b) { return std::pair(a.role, a.since) > std::pair(b.role, b.since); });
    }
    for (const auto& [animal, all] : of_) {
      for (const Place& one : all) ++(one.role == Stay::Role::visiting ? visitors_ : homes_)[one.place];
      // Away on a visit: its home is empty of it.
      if (all.front().role == Stay::Role::visiting) {
        for (const Place& one : all) {
          if (one.role == Stay::Role::home && one.place != all.front().place) --homes_[one.place];
        }
      }
    }
  }

  const std::vector<Place>& of(Thing animal) const {
    static const std::vector<Place> kNowhere;
    const auto found = of_.find(animal);
    return found == of_.end() ? kNowhere : found->second;
  }
  /// Several at home, and nobody on a visit.
  bool is_crowded(Thing place) const {
    const auto homes = homes_.find(place);
    return homes != homes_.end() && homes->second > 1 && !visitors_.contains(place);
  }

 private:
  void read(const Statement& query) {
    Place one{.animal = query.integer(0), .place = query.integer(2)};
    one.role = static_cast<Stay::Role>(query.integer(1));
    one.since = query.integer(3);
    if (!query.null(4)) one.partner = query.integer(4);
    of_[one.animal].push_back(one);
  }

  std::unordered_map<Thing, std::vector<Place>> of_;
  std::unordered_map<Thing, int> homes_;
  std::unordered_map<Thing, int> visitors_;
};

/// Puts lines to their racks.
class TodayWriter {
 public:
  TodayWriter(Reader& reader, Today& today) : reader_(reader), today_(today) {
    for (const Named& rack : reader.racks()) {
      rack_of_code_[rack.code] = today.racks.size();
      rack_of_thing_[rack.thing] = today.racks.size();
      today.racks.push_back({rack, reader.field(rack.thing, "quarantine") == "yes", {}});
    }
    today.racks.push_back({});
    racks_ = reader.field_of_all("rack");
    positions_ = reader.field_of_all("position");
    labels_ = reader.field_of_all("short");
  }

  void add(const BoardRow& row, const std::optional<Thing>& place, std::vector<DueLine>&& lines) {
    if (lines.empty()) return;
    const Named animal = named(row.animal, "animal");
    std::optional<Named> where;
    if (place) where = racks_.contains(*place) ? named(*place, "place") : reader_.named(*place);
    TodayRack& rack = today_.racks[place ? rack_index(*place) : today_.racks.size() - 1];
    for (DueLine& line : lines) rack.lines.push_back({animal, where, std::move(line), row.prey});
  }

  /// In walking order, and by label where there is none.
  void sort() {
    for (TodayRack& rack : today_.racks) {
      std::stable_sort(rack.lines.begin(), rack.lines.end(), [&](const TodayLine& a, const TodayLine& b) {
        const auto first = position(a);
        const auto second = position(b);
        if (first != second) return first < second;
        const int order = compare_naturally(a.animal.label, b.animal.label);
        return order != 0 ? order < 0 : a.animal.code < b.animal.code;
      });
    }
    std::erase_if(today_.racks, [](const TodayRack& rack) { return rack.lines.empty() && !rack.rack; });
  }

 private:
  /// As Reader::named, of something that is registered.
  Named named(Thing thing, const char* kind) {
    Named out{.thing = thing};
    auto query = reader_.book().database().prepare("SELECT text FROM code WHERE id = ?");
    if (query.bind(thing).step()) out.code = query.text(0);
    out.kind = kind;
    const auto label = labels_.find(thing);
    out.label = label == labels_.end() || label->second.empty() ? out.code : label->second;
    return out;
  }

  std::size_t rack_index(Thing place) {
    const std::size_t none = today_.racks.size() - 1;
    const auto code = racks_.find(place);
    if (code == racks_.end()) return none;
    const auto known = rack_of_code_.find(code->second);
    if (known != rack_of_code_.end()) return known->second;
    // A code that was joined to another's.
    const auto thing = reader_.thing_of(code->second);
    const auto found = thing ? rack_of_thing_.find(*thing) : rack_of_thing_.end();
    const std::size_t index = found == rack_of_thing_.end() ? none : found->second;
    return rack_of_code_[code->second] = index;
  }

  std::int64_t position(const TodayLine& line) const {
    if (!line.place) return 0;
    const auto found = positions_.find(line.place->thing);
    return found == positions_.end() ? 0 : std::atoll(found->second.c_str());
  }

  Reader& reader_;
  Today& today_;
  std::unordered_map<std::string, std::size_t> rack_of_code_;
  std::unordered_map<Thing, std::size_t> rack_of_thing_;
  std::unordered_map<Thing, std::string> racks_;
  std::unordered_map<Thing, std::string> positions_;
  std::unordered_map<Thing, std::string> labels_;
};

}  // namespace

std::size_t Today::count(Due due) const {
  std::size_t number = 0;
  for (const TodayRack& rack : racks) {
    number += static_cast<std::size_t>(std::count_if(rack.lines.begin(), rack.lines.end(),
                                                     [&](const TodayLine& line) { return line.due.due == due; }));
  }
  return number;
}

AnimalFacts facts_of(Reader& reader, Thing animal, Instant now) {
  return facts_on(work_out(reader, animal, now), reader.settings().zone, now);
}

std::vector<DueLine> due_at_tub(Reader& reader, Thing animal, Instant now) {
  std::vector<DueLine> out = due_for(facts_of(reader, animal, now), evening(reader.settings(), now));
  add_company(reader, animal, now, out);
  return out;
}

std::size_t count_open_questions(Reader& reader) {
  auto query = reader.book().database().prepare("SELECT count(*) FROM matter WHERE answers <> '' AND asks = 1");
  return query.step() ? static_cast<std::size_t>(query.integer(0)) : 0;
}

Today today_list(Reader& reader, Instant now) {
  Today today{.night = evening(reader.settings(), now)};
  const std::vector<BoardRow> board = due_board(reader, now);
  const Snapshot snapshot(reader.book().database());
  const std::map<Thing, DueLine> doubtful = doubtful_places(reader);
  const Whereabouts whereabouts(reader, now);
  TodayWriter writer(reader, today);
  for (const BoardRow& row : board) {
    const auto& lodgings = whereabouts.of(row.animal);
    if (lodgings.empty() && !reader.lives_here(row.animal)) continue;
    ++today.animals;
    std::vector<DueLine> lines = due_for(facts_on(row, reader.settings().zone, now), today.night);
    for (const auto& lodging : lodgings) {
      if (lodging.role != Stay::Role::visiting) continue;
      lines.push_back(company_line(reader, lodging.partner, lodging.since, now));
    }
    if (doubtful.contains(row.animal)) lines.insert(lines.begin(), doubtful.at(row.animal));
    const bool at_home = !lodgings.empty() && lodgings.front().role == Stay::Role::home;
    if (at_home && whereabouts.is_crowded(lodgings.front().place))
      lines.insert(lines.begin(), {Due::two_in_tub, 0, "two animals in one tub that were not paired: look at once"});
    writer.add(row, lodgings.empty() ? std::nullopt : std::optional(lodgings.front().place), std::move(lines));
  }
  writer.sort();
  return today;
}

}  // namespace rackside::core
