#pragma once

#include <string>

namespace rackside::core {

/// The book's advisory lock, across processes and threads: every write and every checkpoint happens under it, because
/// SQLite before 3.51.3 can corrupt a write-ahead log when two connections write or checkpoint at the same time.
/// Held from construction to destruction. Throws Error(busy) after `wait_ms`.
class BookLock {
 public:
  BookLock(const std::string& lock_path, int wait_ms);
  ~BookLock();
  BookLock(const BookLock&) = delete;
  BookLock& operator=(const BookLock&) = delete;

 private:
  int file_ = -1;
};

}  // namespace rackside::core
