#include "core/read/whereabouts.h"

#include <algorithm>
#include <cstdlib>

#include "core/read/field_text.h"

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
      all_.push_back(one);
    }
  }
  // A visit before its home, as Reader::lodgings_of has it.
  std::sort(all_.begin(), all_.end(), [](const Place& a, const Place& b) {
    if (a.animal != b.animal) return a.animal < b.animal;
    return std::pair(a.role, a.since) > std::pair(b.role, b.since);
  });
  for (std::size_t first = 0; first < all_.size();) {
    const auto lodgings = of(all_[first].animal);
    for (const Place& one : lodgings) ++(one.role == Stay::Role::visiting ? visitors_ : homes_)[one.place];
    // Away on a visit: its home is empty of it.
    if (lodgings.front().role == Stay::Role::visiting) {
      for (const Place& one : lodgings) {
        if (one.role == Stay::Role::home && one.place != lodgings.front().place) --homes_[one.place];
      }
    }
    first += lodgings.size();
  }
}

std::span<const Whereabouts::Place> Whereabouts::of(Thing animal) const {
  const auto [first, last] = std::equal_range(all_.begin(), all_.end(), Place{.animal = animal},
                                              [](const Place& a, const Place& b) { return a.animal < b.animal; });
  return {first, last};
}

bool Whereabouts::is_crowded(Thing place) const {
  const auto homes = homes_.find(place);
  return homes != homes_.end() && homes->second > 1 && !visitors_.contains(place);
}

const std::vector<Thing>& Whereabouts::found_at(Thing place) const {
  if (!found_made_) {
    for (std::size_t i = 0; i < all_.size(); ++i) {
      if (i == 0 || all_[i - 1].animal != all_[i].animal) found_[all_[i].place].push_back(all_[i].animal);
    }
    for (auto& [where, animals] : found_) std::sort(animals.begin(), animals.end());
    found_made_ = true;
  }
  static const std::vector<Thing> kNobody;
  const auto found = found_.find(place);
  return found == found_.end() ? kNobody : found->second;
}

RackMap::RackMap(Reader& reader) : reader_(reader) {
  // By value: the places of a rack come together, so that a rack's code is looked up once.
  auto query = reader.book().database().prepare("SELECT subject, value FROM field WHERE name = 'rack' ORDER BY value");
  std::string last;
  std::optional<Thing> rack;
  while (query.step()) {
    if (const std::string_view value = query.text(1); value != last) {
      last = value;
      rack = reader.thing_of(field_text(value));
    }
    racks_.emplace(query.integer(0), rack);
  }
}

std::optional<Thing> RackMap::rack_of(Thing place) const {
  const auto found = racks_.find(place);
  return found == racks_.end() ? std::nullopt : found->second;
}

RackMap::Spot RackMap::spot_of(Thing place) const {
  Spot out{position_of(place), reader_.field(place, "short")};
  if (out.label.empty()) out.label = reader_.label(place);
  return out;
}

std::int64_t RackMap::position_of(Thing place) const {
  if (!mapped_) return std::atoll(reader_.field(place, "position").c_str());
  const auto found = positions_.find(place);
  return found == positions_.end() ? 0 : found->second;
}

void RackMap::map_racks() const {
  reader_.each_field("position", [&](Thing place, const std::string& text) {
    const std::int64_t position = std::atoll(text.c_str());
    positions_.emplace(place, position);
    if (const auto rack = rack_of(place)) at_[*rack].emplace_back(position, place);
  });
  mapped_ = true;
}

std::vector<Thing> RackMap::beside(Thing place) const {
  if (!mapped_) map_racks();
  std::vector<Thing> out;
  const auto rack = rack_of(place);
  const std::int64_t position = position_of(place);
  if (!rack || position == 0) return out;
  for (const std::int64_t other : {position - 1, position + 1}) {
    const auto found =
        std::find_if(at_[*rack].begin(), at_[*rack].end(), [&](const auto& one) { return one.first == other; });
    if (found != at_[*rack].end()) out.push_back(found->second);
  }
  return out;
}

}  // namespace rackside::core
