#include "core/read/rack_map.h"

#include <algorithm>
#include <array>
#include <cstdlib>

#include "core/book/schema.h"
#include "core/read/field_text.h"
#include "core/read/snapshot.h"

namespace rackside::core {
namespace {

/// To be raised when the packed form changes.
constexpr const char* kForm = "places 2";

/// Place, rack, position and size of its label; differences wrap around, so that any pair has one.
using Packed = std::array<std::uint32_t, 4>;

std::int32_t small(std::int64_t number) {
  return static_cast<std::int32_t>(std::clamp<std::int64_t>(number, INT32_MIN + 1, INT32_MAX));
}

}  // namespace

RackMap::RackMap(Reader& reader, std::size_t worth_keeping) : reader_(reader) {
  Database& database = reader.book().database();
  const std::int64_t state = state_of(database);
  bool is_whole = false;
  {
    const Snapshot snapshot(database);
    if (take_kept(database)) return;
    is_whole = read_racks();
    read_positions();
    read_labels();
  }
  if (is_whole && count_known() >= worth_keeping) keep_rows(reader.book(), {packed()}, state);
}

// ---- reading

bool RackMap::read_racks() {
  bool all_known = true;
  // By value: the places of a rack come together, so that a rack's code is looked up once.
  auto query = reader_.book().database().prepare("SELECT subject, value FROM field WHERE name = 'rack' ORDER BY value");
  std::string last;
  std::optional<Thing> rack;
  while (query.step()) {
    if (const std::string_view value = query.text(1); value != last) {
      last = value;
      rack = reader_.thing_of(field_text(value));
      all_known = all_known && rack;
    }
    if (rack) standings_[query.integer(0)].rack = small(*rack);
  }
  return all_known;
}

void RackMap::read_positions() {
  reader_.each_field("position", [&](Thing place, const std::string& text) {
    standings_[place].position = small(std::atoll(text.c_str()));
  });
}

void RackMap::read_labels() {
  reader_.each_field("short", [&](Thing thing, const std::string& text) {
    if (!standings_.of(thing).is_known()) return;
    Standing& standing = standings_[thing];
    standing.label_first = static_cast<std::uint32_t>(labels_.size());
    standing.label_size = static_cast<std::uint32_t>(text.size());
    labels_ += text;
  });
}

// ---- keeping: the number of the last thing; then four numbers a place, each as its difference to the one of the place
// before: neighbours differ little. The labels stand one after the other.

KeptRow RackMap::packed() const {
  KeptRow out{.thing = kRowOfPlaces, .reading = kForm};
  put_number(standings_.end() - 1, out.numbers);
  Packed last{};
  for (Thing place = 0; place < standings_.end(); ++place) {
    const Standing& one = standings_.of(place);
    if (!one.is_known()) continue;
    const Packed next{static_cast<std::uint32_t>(place), static_cast<std::uint32_t>(one.rack),
                      static_cast<std::uint32_t>(one.position), one.label_size};
    for (std::size_t i = 0; i < next.size(); ++i)
      put_difference(static_cast<std::int32_t>(next[i] - last[i]), out.numbers);
    last = next;
    out.texts.append(labels_, one.label_first, one.label_size);
  }
  return out;
}

bool RackMap::take_kept(Database& database) {
  auto query = database.prepare("SELECT numbers, texts FROM due WHERE animal = ? AND reading = ?");
  if (!query.bind(kRowOfPlaces, kForm).step()) return false;
  ByteSpan numbers = query.blob(0);
  labels_ = query.text(1);
  standings_.make_room(take_number(numbers));
  std::uint32_t label = 0;
  Packed next{};
  while (!numbers.empty()) {
    for (std::uint32_t& number : next) number += static_cast<std::uint32_t>(take_difference(numbers));
    standings_[next[0]] = {static_cast<std::int32_t>(next[1]), static_cast<std::int32_t>(next[2]), label, next[3]};
    label += next[3];
  }
  return true;
}

std::size_t RackMap::count_known() const {
  std::size_t count = 0;
  for (Thing place = 0; place < standings_.end(); ++place) count += standings_.of(place).is_known() ? 1 : 0;
  return count;
}

// ---- what is asked of it

std::optional<Thing> RackMap::rack_of(Thing place) const {
  const Thing rack = standings_.of(place).rack;
  return rack == 0 ? std::nullopt : std::optional(rack);
}

RackMap::Spot RackMap::spot_of(Thing place) const {
  const Standing& standing = standings_.of(place);
  Spot out{standing.position, labels_.substr(standing.label_first, standing.label_size)};
  if (out.label.empty()) out.label = reader_.label(place);
  return out;
}

std::int64_t RackMap::position_of(Thing place) const {
  return standings_.of(place).position;
}

const std::vector<Thing>& RackMap::places_in(Thing rack) const {
  if (places_.empty()) {
    for (Thing place = 0; place < standings_.end(); ++place)
      if (const auto its_rack = rack_of(place)) places_[*its_rack].push_back(place);
  }
  return places_[rack];
}

std::vector<Thing> RackMap::beside(Thing place) const {
  const auto rack = rack_of(place);
  const std::int64_t position = position_of(place);
  if (!rack || position == 0) return {};
  std::optional<Thing> before;
  std::optional<Thing> behind;
  for (const Thing other : places_in(*rack)) {
    const std::int64_t there = position_of(other);
    // Places that were never given a position stand beside nobody.
    if (there != 0 && there == position - 1 && !before) before = other;
    if (there == position + 1 && !behind) behind = other;
  }
  std::vector<Thing> out;
  if (before) out.push_back(*before);
  if (behind) out.push_back(*behind);
  return out;
}

}  // namespace rackside::core
