#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/read/reader.h"
#include "core/read/thing_table.h"

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

  /// `expected`: about how many animals there are; any number will do.
  Whereabouts(Reader& reader, Instant now, std::size_t expected = 0);

  /// A visit before its home; empty when nowhere.
  std::span<const Place> of(Thing animal) const;
  /// Several at home, and nobody on a visit.
  bool is_crowded(Thing place) const;
  /// Who is found at a place: visitors too, those on a visit elsewhere not.
  std::vector<Thing> found_at(Thing place) const;

 private:
  void sort_places();
  void count_lodgers();
  void sort_found() const;

  std::vector<Place> all_;  ///< by animal, each one's visits before its home
  struct Span {
    std::uint32_t first = 0;
    std::uint32_t count = 0;
  };
  ThingTable<Span> spans_;  ///< of `all_`, by animal
  ThingTable<int> homes_;
  ThingTable<int> visitors_;
  mutable std::vector<std::pair<Thing, Thing>> found_;  ///< place and animal, in order; made when first asked for
};

}  // namespace rackside::core
