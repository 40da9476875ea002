#pragma once

#include "tests/bench/stage.h"

namespace rackside::bench {

/// Days after a past, each of 500 events and in a stream of its own.
constexpr unsigned kMoreDays = 5;

/// A collection of 10 000 animals with its book and floor, and days that are in neither yet.
struct Past {
  Season season;
  std::string book;
  std::string floor;
};

/// Books of this size take minutes, so they are built once into a folder that stays: $RACKSIDE_BENCH_CACHE, or
/// rackside-bench-cache in the folder for temporary files. Delete it when the season or the fold has changed.
Past past_of(const std::string& name, unsigned events_per_device);

/// Copies a database and what stands beside it into the stage.
std::string copied(Stage& stage, const std::string& from, const std::string& name);

}  // namespace rackside::bench
