#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "tests/bench/season.h"

namespace rackside::bench {

/// One line of the result.
struct Row {
  std::string name;
  double ours = 0;
  double floor = 0;
  std::string unit;
  double ratio() const { return ours / floor; }
};

/// What benchmarks share: a folder that is removed at the end, and the season of 100 000 events, written once.
class Stage {
 public:
  Stage();
  ~Stage();
  Stage(const Stage&) = delete;
  Stage& operator=(const Stage&) = delete;

  const Season& season_100k();
  /// A path in the folder where nothing is; what stood there before is removed.
  std::string fresh(const std::string& name);
  std::string path(const std::string& name) const { return folder_ + "/" + name; }

 private:
  std::string folder_;
  std::optional<Season> season_100k_;
};

/// Times two works in turn, `rounds` times (at least 3), so that what else the machine does meets both alike. Medians
/// of wall-clock milliseconds; each round, and processor time, which a busy machine disturbs less, go to standard
/// error.
Row compare(const std::string& name, int rounds, const std::function<void()>& ours, const std::function<void()>& floor);
double milliseconds_of(const std::function<void()>& work);
double median(std::vector<double> values);

/// Takes a whole stream as sync does: read line by line, merged in batches of at most 4096 events or 1 MiB, each in one
/// durable transaction. The book is made when it is not there. Returns how many events were new.
std::size_t feed_book(const Season& season, const std::string& book);

/// Makes a book of a whole stream in few and large transactions: for books whose making is not measured. Same digest,
/// more memory, a fraction of the time. Says on standard error how far it is.
void build_book(const Season& season, const std::string& book);

/// Runs this program again with these arguments and returns the peak of its memory in KiB (VmHWM: of a fresh process,
/// unlike ru_maxrss, which a child inherits).
std::size_t peak_of_child(const std::vector<std::string>& arguments);
std::size_t own_peak_kib();

}  // namespace rackside::bench
