#include "core/read/rack_sheet.h"

#include <algorithm>

namespace rackside::core {
namespace {

/// Lines of the day's list by animal.
std::map<std::string, std::vector<DueLine>> lines_by_animal(const Today& today) {
  std::map<std::string, std::vector<DueLine>> out;
  for (const TodayRack& rack : today.racks) {
    for (const TodayLine& line : rack.lines) out[line.animal.code].push_back(line.due);
  }
  return out;
}

class SheetMaker {
 public:
  SheetMaker(Reader& reader, Instant now)
      : reader_(reader),
        settings_(care_settings(reader)),
        moment_(moment_of(reader.settings(), now)),
        lines_(lines_by_animal(today_list(reader, now))),
        board_(due_board(reader, settings_, now)),
        whereabouts_(reader, now),
        racks_(reader) {}

  std::vector<RackSheet> sheets(const std::optional<Named>& only) {
    std::map<Thing, RackSheet> by_rack;
    for (const BoardRow& row : board_) {
      const auto lodgings = whereabouts_.of(row.animal);
      const auto rack = lodgings.empty() ? std::nullopt : racks_.rack_of(lodgings.front().place);
      if (rack && (!only || only->thing == *rack)) add(row, lodgings.front().place, by_rack[*rack]);
    }
    std::vector<RackSheet> out;
    for (const Named& rack : reader_.racks()) {
      const auto found = by_rack.find(rack.thing);
      if (found != by_rack.end()) out.push_back(finished(std::move(found->second), rack));
    }
    return out;
  }

 private:
  void add(const BoardRow& row, Thing place, RackSheet& sheet) {
    const AnimalFacts facts = facts_on(row, settings_, moment_.today);
    SheetRow out{.position = racks_.position_of(place),
                 .place = reader_.named(place),
                 .animal = reader_.named(row.animal),
                 .sex = row.sex,
                 .name = reader_.field(row.animal, "name"),
                 .meal = meal_state(facts, settings_.limits, moment_),
                 .diet = diet_on(row, settings_, moment_.today),
                 .fast = facts.fast,
                 .lines = lines_[reader_.named(row.animal).code]};
    sheet.count.add(row.sex);
    if (is_to_be_fed(out.meal.state) && !out.diet.prey.empty()) sheet.take[out.diet.prey] += out.diet.count;
    sheet.rows.push_back(std::move(out));
  }

  RackSheet finished(RackSheet sheet, const Named& rack) {
    sheet.rack = rack;
    sheet.quarantine = reader_.field(rack.thing, "quarantine") == "yes";
    sheet.night = moment_.tonight;
    std::stable_sort(sheet.rows.begin(), sheet.rows.end(), [](const SheetRow& a, const SheetRow& b) {
      if (a.position != b.position) return a.position < b.position;
      const int order = compare_naturally(a.animal.label, b.animal.label);
      return order != 0 ? order < 0 : a.animal.code < b.animal.code;
    });
    return sheet;
  }

  Reader& reader_;
  CareSettings settings_;
  Moment moment_;
  std::map<std::string, std::vector<DueLine>> lines_;
  std::vector<BoardRow> board_;
  Whereabouts whereabouts_;
  RackMap racks_;
};

}  // namespace

std::vector<RackSheet> rack_sheets(Reader& reader, Instant now, const std::optional<Named>& only) {
  return SheetMaker(reader, now).sheets(only);
}

}  // namespace rackside::core
