#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/base/bytes.h"

namespace rackside::bench {

/// How large a collection's made-up history is. The same plan gives the same bytes in every run.
struct SeasonPlan {
  unsigned devices = 5;  ///< the keeper's hub among them
  unsigned events_per_device = 20'000;
  unsigned animals = 2'000;  ///< registered and housed by the keeper before the season begins
  unsigned days = 120;
  /// After the season, each of 500 events and in a stream of its own; a tenth of them come late.
  unsigned more_days = 0;
  std::uint64_t seed = 1;
};

struct Season {
  core::CollectionId collection{};
  std::string path;                    ///< one whole stream of the protocol: JSON lines, all devices abreast
  std::size_t events = 0;              ///< two of them the root's, which found the collection
  std::size_t bytes = 0;               ///< of the events alone
  std::vector<std::string> more_days;  ///< a stream a day
};

/// The name of every made-up collection.
core::CollectionId collection_of();

/// Writes a season's stream to `path`, in the order in which a hub would send it (Book::missing_for): by time, the
/// hub's own a day ahead. Events are real: encoded by core, chained, heads signed every 256 events, with `by`, place
/// scans with `shown`, and `re` where the author's screen would have given it (offers and their outcomes, second
/// servings, lodgings of moves). What stands in them in what proportion is common practice, no source.
Season write_season(const SeasonPlan& plan, const std::string& path);

}  // namespace rackside::bench
