#pragma once

#include <condition_variable>
#include <exception>
#include <functional>
#include <mutex>
#include <vector>

#include "core/book/book.h"

namespace rackside::sync::hub {

/// Lets many threads write to one book. Whoever comes while another writes waits; all that wait then write in one
/// transaction, on the thread of one of them, so that a hundred devices share the waits for the disk instead of
/// queueing for one each. Thread: safe.
class Turns {
 public:
  explicit Turns(core::Book& book) : book_(book) {}

  /// Runs `work`, which may call what writes to the book, and returns when it is on the disk. What it throws comes out
  /// here, and nothing of it was written then; works beside it are not disturbed. It may be run a second time after it
  /// was taken back, so what it hands out it must set, not add to.
  void run(const std::function<void()>& work);

  /// Runs `work` while nobody writes, outside of a transaction.
  void alone(const std::function<void()>& work);

 private:
  struct Waiting {
    const std::function<void()>& work;
    std::exception_ptr failure;
    bool done = false;
  };
  void write_all(const std::vector<Waiting*>& group);

  core::Book& book_;
  std::mutex mutex_;  ///< guards what follows
  std::condition_variable changed_;
  std::vector<Waiting*> waiting_;
  bool writing_ = false;
};

}  // namespace rackside::sync::hub
