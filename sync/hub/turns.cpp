#include "sync/hub/turns.h"

#include <algorithm>

namespace rackside::sync::hub {
namespace {

/// So that memory stays flat, and the first of a group does not wait for too many others.
constexpr std::size_t kMostTogether = 32;

}  // namespace

void Turns::run(const std::function<void()>& work) {
  Waiting mine{.work = work};
  std::unique_lock lock(mutex_);
  waiting_.push_back(&mine);
  changed_.wait(lock, [&] { return mine.done || !writing_; });
  while (!mine.done) {
    const std::size_t count = std::min(waiting_.size(), kMostTogether);
    const std::vector<Waiting*> group(waiting_.begin(), waiting_.begin() + static_cast<std::ptrdiff_t>(count));
    waiting_.erase(waiting_.begin(), waiting_.begin() + static_cast<std::ptrdiff_t>(count));
    writing_ = true;
    lock.unlock();
    write_all(group);
    lock.lock();
    writing_ = false;
    for (Waiting* one : group) one->done = true;
    changed_.notify_all();
  }
  lock.unlock();
  if (mine.failure) std::rethrow_exception(mine.failure);
}

void Turns::write_all(const std::vector<Waiting*>& group) {
  std::vector<std::function<void()>> works;
  for (const Waiting* one : group) works.push_back(one->work);
  const std::vector<std::exception_ptr> failures = book_.write_each(works);
  for (std::size_t i = 0; i < group.size(); ++i) group[i]->failure = failures[i];
}

void Turns::alone(const std::function<void()>& work) {
  std::unique_lock lock(mutex_);
  changed_.wait(lock, [&] { return !writing_; });
  work();
}

}  // namespace rackside::sync::hub
