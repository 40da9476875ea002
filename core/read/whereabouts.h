#pragma once

#include <optional>
#include <span>
#include <string>
#include <unordered_map>
#include <vector>

#include "core/read/reader.h"

namespace rackside::core {

/// Who is where at one moment, read at once: a look for each animal would take longer than all the rest of a day's
/// list.
class Whereabouts {
 public:
  struct Place {
    Thing animal = 0;
    Thing place = 0;
    Stay::Role role = Stay::Role::home;
    Instant since = 0;
    std::optional<Thing> partner;
  };

  Whereabouts(Reader& reader, Instant now);

  /// A visit before its home; empty when nowhere.
  std::span<const Place> of(Thing animal) const;
  /// Several at home, and nobody on a visit.
  bool is_crowded(Thing place) const;
  /// Who is found at a place: visitors too, those on a visit elsewhere not.
  const std::vector<Thing>& found_at(Thing place) const;

 private:
  mutable std::unordered_map<Thing, std::vector<Thing>> found_;  ///< made when it is first asked for
  mutable bool found_made_ = false;
  std::vector<Place> all_;  ///< by animal, each one's visits before its home
  std::unordered_map<Thing, int> homes_;
  std::unordered_map<Thing, int> visitors_;
};

/// Which place is in which rack, read at once; where in it, of the places that are asked for, until a neighbour is.
class RackMap {
 public:
  struct Spot {
    std::int64_t position = 0;  ///< in the walk, from 1 on; 0: not known
    std::string label;          ///< as Reader::label
  };

  explicit RackMap(Reader& reader);

  /// The rack, by its thing.
  std::optional<Thing> rack_of(Thing place) const;
  Spot spot_of(Thing place) const;
  /// As in its spot.
  std::int64_t position_of(Thing place) const;
  /// The places before and behind it in its rack.
  std::vector<Thing> beside(Thing place) const;

 private:
  void map_racks() const;

  /// Positions of each rack and what is there, and those of all places; made when they are first asked for.
  mutable std::unordered_map<Thing, std::vector<std::pair<std::int64_t, Thing>>> at_;
  mutable std::unordered_map<Thing, std::int64_t> positions_;
  mutable bool mapped_ = false;
  Reader& reader_;
  std::unordered_map<Thing, std::optional<Thing>> racks_;
};

}  // namespace rackside::core
