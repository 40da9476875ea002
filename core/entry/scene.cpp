#include "core/entry/scene.h"

#include <algorithm>
#include <set>

#include "core/read/due_board.h"
#include "core/read/today.h"
#include "core/rules/rule.h"

namespace rackside::core {
namespace {

constexpr Instant kRecent = 60 * kDay;

/// All of the kinds that can be of one matter with another account; of the others the newest tells enough, and in a
/// full life they are most.
std::vector<Seen> recent_accounts(Reader& reader, Thing animal, Instant at) {
  std::vector<Seen> out;
  std::set<Kind> told;
  auto query = reader.book().database().prepare(
      "SELECT event, kind, at FROM account WHERE subject = ? AND at >= ? ORDER BY at DESC, event DESC");
  query.bind(animal, at - kRecent);
  while (query.step()) {
    const Kind kind = static_cast<Kind>(query.integer(1));
    if (!told.insert(kind).second && rules_for(kind).empty()) continue;
    out.push_back({reader.book().log().ref_of(query.integer(0)), kind, query.integer(2)});
  }
  return out;
}

std::vector<Seen> open_offers(const Resident& resident) {
  std::vector<Seen> out;
  if (!resident.last_night || !resident.last_night->offer_open) return out;
  for (const Seen& seen : resident.recent) {
    const auto& accounts = resident.last_night->accounts;
    const bool of_that_night = std::find(accounts.begin(), accounts.end(), seen.ref) != accounts.end();
    if (seen.kind == Kind::offered && of_that_night) out.push_back(seen);
  }
  return out;
}

std::optional<Seen> gone_since(Reader& reader, Thing animal) {
  const auto line = reader.latest(animal, {Kind::left, Kind::died, Kind::moved, Kind::swapped});
  if (!line || (line->kind != Kind::left && line->kind != Kind::died)) return std::nullopt;
  return Seen{line->ref, line->kind, line->at};
}

/// Who shares its tub: whom it visits, or who visits it at home.
std::optional<Company> company_of(Reader& reader, const Resident& resident, Instant at) {
  const Lodging* visit = resident.visit();
  if (visit && visit->partner) return Company{reader.named(*visit->partner), visit->by, false};
  const Lodging* home = resident.home();
  if (visit || !home) return std::nullopt;
  for (const Lodging& lodging : reader.found_at(home->place, at)) {
    if (lodging.role == Stay::Role::visiting && lodging.animal != resident.animal.thing)
      return Company{reader.named(lodging.animal), lodging.by, true};
  }
  return std::nullopt;
}

/// How long after an entry in quarantine the next one elsewhere is warned of.
constexpr Instant kQuarantineReaches = 12 * kHour;

bool in_quarantine(Reader& reader, Thing place) {
  const auto rack = reader.rack_of(place);
  return rack && reader.field(*rack, "quarantine") == "yes";
}

/// The place that a code stands for, or where its animal is.
std::optional<Thing> place_of_code(Reader& reader, const std::string& code, Instant at) {
  const auto thing = reader.thing_of(code);
  if (!thing || reader.named(*thing).kind == "place") return thing;
  const auto lodgings = reader.lodgings_of(*thing, at);
  return lodgings.empty() ? std::nullopt : std::optional(lodgings.front().place);
}

std::string came_from_quarantine(Reader& reader, const std::string& code, Instant at) {
  const auto here = place_of_code(reader, code, at);
  if (!here || in_quarantine(reader, *here)) return {};
  for (const StoryLine& line : reader.own_latest(1)) {
    const bool at_tub = info_of(line.kind).kind_class == KindClass::observation;
    if (!at_tub || line.at > at || at - line.at > kQuarantineReaches) continue;
    const std::string last = !line.event->place.empty() ? line.event->place
                             : line.event->of.empty()   ? std::string()
                                                        : line.event->of.front();
    const auto there = last.empty() ? std::nullopt : place_of_code(reader, last, at);
    if (there && in_quarantine(reader, *there)) return reader.label(*there);
  }
  return {};
}

Resident resident_of(Reader& reader, const CareSettings& care, Thing animal, const std::string& code, Instant at) {
  Resident out{.animal = reader.named(animal)};
  out.code = code.empty() ? out.animal.code : code;
  out.sex = reader.field(animal, "sex");
  out.lodgings = reader.lodgings_of(animal, at);
  if (const Lodging* home = out.home()) out.home_place = reader.named(home->place);
  out.company = company_of(reader, out, at);
  out.recent = recent_accounts(reader, animal, at);
  const auto nights = reader.nights(animal, 1);
  if (!nights.empty()) out.last_night = nights.front();
  out.open_offers = open_offers(out);
  out.gone = gone_since(reader, animal);
  if (const auto weighed = reader.latest(animal, {Kind::weighed}))
    out.last_grams_tenths = weighed->event->own.number("grams_tenths");
  out.dose_in_doubt = reader.dose_in_doubt(animal, at - 7 * kDay);
  out.sold = reader.latest(animal, {Kind::sold}).has_value();
  const BoardRow row = work_out(reader, care, animal, at);
  out.facts = facts_on(row, care, reader.settings().zone.day_of(at));
  out.hatched = hatched_day(row.hatched);
  return out;
}

Scene scene_at(Reader& reader, Instant at) {
  const FoldSettings& settings = reader.settings();
  Scene scene{.at = at};
  scene.night = night_of(settings.zone, settings.night_start_minute, at);
  scene.day = settings.zone.day_of(at);
  scene.moment = {scene.night.number, scene.day, at};
  return scene;
}

void add_residents(Reader& reader, const CareSettings& care, Thing place, Instant at, Scene& scene) {
  for (const Lodging& lodging : reader.found_at(place, at)) {
    const bool known = std::any_of(scene.found.begin(), scene.found.end(),
                                   [&](const Resident& one) { return one.animal.thing == lodging.animal; });
    if (!known) scene.found.push_back(resident_of(reader, care, lodging.animal, "", at));
  }
  for (const Lodging& home : reader.homes_at(place, at)) {
    const bool here = std::any_of(scene.found.begin(), scene.found.end(),
                                  [&](const Resident& one) { return one.animal.thing == home.animal; });
    if (!here) scene.reserved.push_back(resident_of(reader, care, home.animal, "", at));
  }
}

}  // namespace

std::vector<EventRef> moves_at(Reader& reader, Thing place, Instant at) {
  std::vector<EventRow> rows;
  {
    auto begun = reader.book().database().prepare("SELECT by FROM stay WHERE place = ? AND since BETWEEN ? AND ?");
    begun.bind(place, at - kDay, at);
    while (begun.step()) rows.push_back(begun.integer(0));
  }
  {
    auto ended = reader.book().database().prepare(
        "SELECT move.event FROM stay JOIN move ON move.animal = stay.animal JOIN event ON event.id = move.event "
        "WHERE stay.place = ? AND stay.until BETWEEN ? AND ? AND event.at BETWEEN ? AND ? AND event.id <> stay.by");
    ended.bind(place, at - kDay, at, at - kDay, at);
    while (ended.step()) rows.push_back(ended.integer(0));
  }
  std::sort(rows.begin(), rows.end());
  rows.erase(std::unique(rows.begin(), rows.end()), rows.end());
  std::vector<EventRef> out;
  for (const EventRow row : rows) out.push_back(reader.book().log().ref_of(row));
  return out;
}

const Lodging* Resident::visit() const {
  const bool visits = !lodgings.empty() && lodgings.front().role == Stay::Role::visiting;
  return visits ? &lodgings.front() : nullptr;
}

const Lodging* Resident::home() const {
  const auto found = std::find_if(lodgings.begin(), lodgings.end(),
                                  [](const Lodging& lodging) { return lodging.role == Stay::Role::home; });
  return found == lodgings.end() ? nullptr : &*found;
}

Scene look(Reader& reader, const Named& scanned, const std::string& code, Instant at) {
  Scene scene = scene_at(reader, at);
  scene.scanned = scanned;
  scene.code = code.empty() ? scanned.code : code;
  // A code that was scanned before its registration came has no kind yet: its letter tells.
  scene.known = !scanned.kind.empty();
  scene.is_place = scene.known ? scanned.kind == "place" : scanned.code.starts_with('T');
  const CareSettings care = care_settings(reader);
  scene.limits = care.limits;
  scene.quarantine_before = came_from_quarantine(reader, scene.code, at);
  if (scene.is_place) {
    add_residents(reader, care, scanned.thing, at, scene);
    scene.moves = moves_at(reader, scanned.thing, at);
  } else {
    scene.found.push_back(resident_of(reader, care, scanned.thing, scene.code, at));
  }
  return scene;
}

Scene look_unknown(Reader& reader, const Code& code, Instant at) {
  Scene scene = scene_at(reader, at);
  scene.code = code.str();
  scene.scanned = {.code = scene.code, .label = scene.code};
  scene.is_place = code.kind() == CodeKind::place;
  scene.known = false;
  if (!scene.is_place) scene.found.push_back({.animal = scene.scanned, .code = scene.code});
  return scene;
}

}  // namespace rackside::core
