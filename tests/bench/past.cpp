#include "tests/bench/past.h"

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <filesystem>

#include "core/book/book.h"
#include "tests/bench/floor.h"

namespace rackside::bench {
namespace {

/// An animal is visited every fourth day at least, which makes ten million events ten years.
constexpr unsigned kEventsOfDay = 2740;

std::string cache_folder(const std::string& name) {
  const char* chosen = std::getenv("RACKSIDE_BENCH_CACHE");
  const auto base =
      chosen ? std::filesystem::path(chosen) : std::filesystem::temp_directory_path() / "rackside-bench-cache";
  std::filesystem::create_directories(base / name);
  return (base / name).string();
}

SeasonPlan plan_of(unsigned events_per_device) {
  SeasonPlan plan{.events_per_device = events_per_device, .animals = 10'000, .more_days = kMoreDays};
  plan.days = std::max(plan.days, plan.devices * events_per_device / kEventsOfDay);
  return plan;
}

}  // namespace

Past past_of(const std::string& name, unsigned events_per_device) {
  const std::string folder = cache_folder(name);
  const std::string done = folder + "/done";
  const SeasonPlan plan = plan_of(events_per_device);
  Past past{.book = folder + "/book", .floor = folder + "/floor"};
  past.season = {.collection = collection_of(), .path = folder + "/season.jsonl"};
  for (unsigned day = 0; day < kMoreDays; ++day)
    past.season.more_days.push_back(past.season.path + "." + std::to_string(plan.days + day));
  if (std::filesystem::exists(done)) return past;
  std::fprintf(stderr, "building %s once\n", folder.c_str());
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder);
  past.season = write_season(plan, past.season.path);
  build_book(past.season, past.book);
  feed_floor(past.season.path, past.floor);
  core::Database(past.floor, core::Database::Mode::open).checkpoint();  // else each opening reads a log of gigabytes
  std::filesystem::remove(past.season.path);
  std::filesystem::create_directory(done);
  return past;
}

std::string copied(Stage& stage, const std::string& from, const std::string& name) {
  const std::string to = stage.fresh(name);
  for (const char* ending : {"", "-wal"}) {
    if (std::filesystem::exists(from + ending)) std::filesystem::copy_file(from + ending, to + ending);
  }
  return to;
}

}  // namespace rackside::bench
