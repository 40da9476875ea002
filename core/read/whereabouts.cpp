#include "core/read/whereabouts.h"

#include <algorithm>
#include <cstdlib>

namespace rackside::core {

Whereabouts::Whereabouts(Reader& reader, Instant now) {
  for (const char* sql : {"SELECT animal, role, place, since, partner FROM stay WHERE until IS NULL AND since <= ?",
                          "SELECT animal, role, place, since, partner FROM stay WHERE until > ? AND since <= ?1"}) {
    auto query = reader.book().database().prepare(sql);
    query.bind(now);
    while (query.step()) {
      Place one{.animal = query.integer(0), .place = query.integer(2)};
      one.role = static_cast<Stay::Role>(query.integer(1));
      one.since = query.integer(3);
      if (!query.null(4)) one.partner = query.integer(4);
      of_[one.animal].push_back(one);
    }
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

const std::vector<Whereabouts::Place>& Whereabouts::of(Thing animal) const {
  static const std::vector<Place> kNowhere;
  const auto found = of_.find(animal);
  return found == of_.end() ? kNowhere : found->second;
}

bool Whereabouts::is_crowded(Thing place) const {
  const auto homes = homes_.find(place);
  return homes != homes_.end() && homes->second > 1 && !visitors_.contains(place);
}

const std::vector<Thing>& Whereabouts::found_at(Thing place) const {
  if (!found_made_) {
    for (const auto& [animal, all] : of_) found_[all.front().place].push_back(animal);
    for (auto& [where, animals] : found_) std::sort(animals.begin(), animals.end());
    found_made_ = true;
  }
  static const std::vector<Thing> kNobody;
  const auto found = found_.find(place);
  return found == found_.end() ? kNobody : found->second;
}

RackMap::RackMap(Reader& reader) : reader_(reader) {
  racks_ = reader.field_of_all("rack");
  positions_ = reader.field_of_all("position");
}

std::optional<Thing> RackMap::rack_of(Thing place) const {
  const auto code = racks_.find(place);
  if (code == racks_.end()) return std::nullopt;
  const auto known = known_.find(code->second);
  if (known != known_.end()) return known->second;
  return known_[code->second] = reader_.thing_of(code->second);
}

std::int64_t RackMap::position_of(Thing place) const {
  const auto found = positions_.find(place);
  return found == positions_.end() ? 0 : std::atoll(found->second.c_str());
}

std::vector<Thing> RackMap::beside(Thing place) const {
  if (!mapped_) {
    for (const auto& [one, code] : racks_) {
      if (const auto rack = rack_of(one)) at_[*rack].emplace(position_of(one), one);
    }
    mapped_ = true;
  }
  std::vector<Thing> out;
  const auto rack = rack_of(place);
  const std::int64_t position = position_of(place);
  if (!rack || position == 0) return out;
  for (const std::int64_t other : {position - 1, position + 1}) {
    const auto found = at_[*rack].find(other);
    if (found != at_[*rack].end()) out.push_back(found->second);
  }
  return out;
}

}  // namespace rackside::core
