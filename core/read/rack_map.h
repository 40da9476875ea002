#pragma once

#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "core/read/kept.h"
#include "core/read/reader.h"
#include "core/read/thing_table.h"

namespace rackside::core {

/// Which place is in which rack, where in it, and what people call it: all places at once. A book keeps the map from
/// one list to the next, in one piece, until the fold learns something of a place (see core/read/kept).
class RackMap {
 public:
  struct Spot {
    std::int64_t position = 0;  ///< in the walk, from 1 on; 0: not known
    std::string label;          ///< as Reader::label
  };

  /// Not within a snapshot. Maps of fewer places than `worth_keeping` are not kept.
  explicit RackMap(Reader& reader, std::size_t worth_keeping = 64);

  /// The rack, by its thing.
  std::optional<Thing> rack_of(Thing place) const;
  Spot spot_of(Thing place) const;
  /// As in its spot.
  std::int64_t position_of(Thing place) const;
  /// The places before and behind it in its rack.
  std::vector<Thing> beside(Thing place) const;

 private:
  struct Standing {
    std::int32_t rack = 0;  ///< its thing; 0: in none
    std::int32_t position = 0;
    std::uint32_t label_first = 0;  ///< in `labels_`
    std::uint32_t label_size = 0;   ///< 0: it has no short ID
    bool is_known() const { return rack != 0 || position != 0; }
  };

  bool take_kept(Database& database);
  /// Whether it may be kept: every rack that is named is known.
  bool read_racks();
  void read_positions();
  void read_labels();
  KeptRow packed() const;
  std::size_t count_known() const;
  const std::vector<Thing>& places_in(Thing rack) const;

  Reader& reader_;
  ThingTable<Standing> standings_;
  std::string labels_;
  mutable std::unordered_map<Thing, std::vector<Thing>> places_;  ///< by rack; made when first asked for
};

}  // namespace rackside::core
