#include <stdexcept>

#include "core/book/book.h"
#include "tests/bench/benchmarks.h"
#include "tests/bench/floor.h"
#include "tests/bench/past.h"

namespace rackside::bench {
namespace {

/// Each round takes the next day, so that no round finds what another brought.
std::vector<Row> day_500(Stage& stage, const std::string& name, unsigned events_per_device) {
  const Past past = past_of(name.substr(name.find('@') + 1), events_per_device);
  const std::string book = copied(stage, past.book, "day.book");
  const std::string floor = copied(stage, past.floor, "day.floor");
  std::size_t our_day = 0;
  std::size_t its_day = 0;
  const auto expect_some = [](std::size_t stored) {
    if (stored == 0) throw std::runtime_error("day-500: nothing was stored");
  };
  return {compare(
      name, static_cast<int>(kMoreDays),
      [&] {
        expect_some(feed_book({.collection = past.season.collection, .path = past.season.more_days[our_day++]}, book));
      },
      [&] { expect_some(feed_floor(past.season.more_days[its_day++], floor)); })};
}

/// Both sides' part of an exchange in which nobody has anything new: heads, and what a peer with these heads lacks.
double exchange_without_news(const std::string& path) {
  core::Book book = core::Book::open(path);
  std::vector<double> times;
  for (int round = 0; round < 21; ++round) {
    times.push_back(milliseconds_of([&] {
      const core::PeerVector peer{.heads = book.heads()};
      book.missing_for(peer, [](core::Segment&&) -> bool { throw std::runtime_error("something was missing"); });
    }));
  }
  return median(times);
}

}  // namespace

std::vector<Row> day_500_100k(Stage& stage) {
  return day_500(stage, "day-500@100k", 20'000);
}

std::vector<Row> day_500_10m(Stage& stage) {
  return day_500(stage, "day-500@10m", 2'000'000);
}

/// In place of a floor stands the small book: flat means a ratio of 1.
std::vector<Row> nothing_new_10m(Stage& stage) {
  const std::string large = copied(stage, past_of("10m", 2'000'000).book, "large.book");
  const std::string small = copied(stage, past_of("100k", 20'000).book, "small.book");
  constexpr double kMicroseconds = 1000;
  return {{"nothing-new@10m", exchange_without_news(large) * kMicroseconds,
           exchange_without_news(small) * kMicroseconds, "us"}};
}

}  // namespace rackside::bench
