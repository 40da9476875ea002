#pragma once

#include <optional>
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
  const std::vector<Place>& of(Thing animal) const;
  /// Several at home, and nobody on a visit.
  bool is_crowded(Thing place) const;
  /// Who is found at a place: visitors too, those on a visit elsewhere not.
  const std::vector<Thing>& found_at(Thing place) const;

 private:
  mutable std::unordered_map<Thing, std::vector<Thing>> found_;  ///< made when it is first asked for
  mutable bool found_made_ = false;
  std::unordered_map<Thing, std::vector<Place>> of_;
  std::unordered_map<Thing, int> homes_;
  std::unordered_map<Thing, int> visitors_;
};

/// The racks' places, read at once.
class RackMap {
 public:
  explicit RackMap(Reader& reader);

  /// The rack, by its thing.
  std::optional<Thing> rack_of(Thing place) const;
  /// In the walk, from 1 on; 0: not known.
  std::int64_t position_of(Thing place) const;
  /// The places before and behind it in its rack.
  std::vector<Thing> beside(Thing place) const;
  bool is_place(Thing thing) const { return racks_.contains(thing); }

 private:
  mutable std::unordered_map<std::string, std::optional<Thing>> known_;  ///< racks by code
  mutable std::unordered_map<Thing, std::unordered_map<std::int64_t, Thing>> at_;
  mutable bool mapped_ = false;
  Reader& reader_;
  std::unordered_map<Thing, std::string> racks_;
  std::unordered_map<Thing, std::string> positions_;
};

}  // namespace rackside::core
