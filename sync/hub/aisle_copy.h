#pragma once

#include <condition_variable>
#include <functional>
#include <map>
#include <mutex>
#include <string>
#include <thread>

#include "core/entry/aisle.h"
#include "sync/hub/gene_desk.h"

namespace rackside::sync::hub {

/// The aisle's copy of a book, kept in memory and numbered by versions, so that a phone which holds an earlier version
/// gets the changed lines only. A large book takes seconds to gather: that is done on a thread of its own, and phones
/// get the copy that there is meanwhile. Source: sync/PROTOCOL.md, section 8. Thread: safe.
class AisleCopy {
 public:
  /// `open` gives a book for a while. `genes` must outlive it.
  AisleCopy(std::function<std::shared_ptr<core::Book>()> open, GeneDesk& genes);
  ~AisleCopy();
  AisleCopy(const AisleCopy&) = delete;
  AisleCopy& operator=(const AisleCopy&) = delete;

  /// The answer to `GET /v1/aisle?since=…`. `since` is what an earlier answer named, or empty; one that this copy does
  /// not know (the hub was started anew) gives the whole. `device`: whose newest event the first line names.
  std::string answer(core::Book& book, const core::DeviceId& device, const std::string& since, std::int64_t now_ms);

 private:
  struct Line {
    std::string text;  ///< empty: gone
    std::int64_t version = 0;
  };

  struct Gathered {
    std::vector<core::AisleLine> lines;
    std::vector<core::Head> heads;  ///< of the book, from before the lines were made
    std::int64_t took_ms = 0;
  };
  static Gathered gather(core::Book& book, std::int64_t now_ms);
  void install(Gathered gathered);
  /// Brings in at once what the newest events tell of: the whole copy follows. Nothing where they are too many.
  void take_newest(core::Book& book, const std::vector<core::Head>& heads, std::int64_t now_ms);
  void take_lines(std::vector<core::AisleLine> lines, std::string_view whole_sort);
  void work();

  /// Gathers anew, has it gathered, or waits so as not to gather all the time. Returns in how many milliseconds the
  /// copy will be newer; 0: it is new.
  std::int64_t refresh(core::Book& book, std::int64_t now_ms);
  void take(const std::string& key, std::string text);
  /// Lays the newest odds of genes into the copy.
  void take_genes();

  GeneDesk& genes_;
  std::shared_ptr<const GeneDesk::Lines> odds_;  ///< those that the copy holds
  std::mutex mutex_;
  std::string epoch_;  ///< random, new with each start: versions of another start mean nothing here
  std::int64_t version_ = 0;
  std::map<std::string, Line> lines_;
  std::vector<core::Head> heads_;     ///< of the book, when the newest lines were made
  std::vector<core::Head> gathered_;  ///< when all of them were
  std::int64_t made_ms_ = INT64_MIN;  ///< by the monotonic clock
  std::int64_t took_ms_ = 0;
  bool gathering_ = false;  ///< on the thread
  bool ending_ = false;
  std::condition_variable changed_;
  std::function<std::shared_ptr<core::Book>()> open_;
  std::thread worker_;
};

}  // namespace rackside::sync::hub
