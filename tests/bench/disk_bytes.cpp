#include <algorithm>
#include <array>
#include <cstdio>
#include <map>
#include <string_view>

#include "core/book/database.h"
#include "tests/bench/benchmarks.h"
#include "tests/bench/floor.h"

namespace rackside::bench {
namespace {

/// What of the book is the log, and which part of the fold answers what the floor's index answers: an animal's events
/// by time. All else is state, but the tables of this copy alone, which do not grow with the log.
constexpr std::array<std::string_view, 7> kLog = {"device",    "branch", "branch_device", "event",
                                                  "signature", "sealed", "erased"};
constexpr std::array<std::string_view, 1> kIndex = {"account"};

template <std::size_t N>
bool contains(const std::array<std::string_view, N>& all, std::string_view one) {
  return std::find(all.begin(), all.end(), one) != all.end();
}

/// Bytes of whole pages by table and index.
std::map<std::string, double> sizes_in(const std::string& path) {
  core::Database database(path, core::Database::Mode::open);
  std::map<std::string, double> out;
  auto query = database.prepare("SELECT name, sum(pgsize) FROM dbstat GROUP BY name");
  while (query.step()) out[std::string(query.text(0))] = static_cast<double>(query.integer(1));
  return out;
}

}  // namespace

/// `disk-bytes` is log and index against the floor's whole file; the other rows hold each part against the same.
std::vector<Row> disk_bytes(Stage& stage) {
  const Season& season = stage.season_100k();
  const std::string book = stage.fresh("disk.book");
  const std::string floor_path = stage.fresh("disk.floor");
  feed_book(season, book);
  feed_floor(season.path, floor_path);
  double log = 0;
  double index = 0;
  double state = 0;
  double floor = 0;
  const auto events = static_cast<double>(season.events);
  for (const auto& [name, bytes] : sizes_in(book)) {
    double& part = contains(kLog, name) ? log : contains(kIndex, name) ? index : state;
    part += bytes / events;
    std::fprintf(stderr, "disk-bytes: %-24s %8.1f bytes an event\n", name.c_str(), bytes / events);
  }
  for (const auto& [name, bytes] : sizes_in(floor_path)) floor += bytes / events;
  std::fprintf(stderr, "disk-bytes: an event's own bytes are %.1f on average\n",
               static_cast<double>(season.bytes) / events);
  const std::string unit = "bytes/event";
  return {{"disk-bytes", log + index, floor, unit},
          {"disk-bytes-log", log, floor, unit},
          {"disk-bytes-index", index, floor, unit},
          {"disk-bytes-state", state, floor, unit}};
}

}  // namespace rackside::bench
