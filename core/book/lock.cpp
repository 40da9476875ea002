#include "core/book/lock.h"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <chrono>
#include <thread>

#include "core/base/error.h"

namespace rackside::core {

BookLock::BookLock(const std::string& lock_path, int wait_ms) {
  file_ = ::open(lock_path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (file_ < 0)
    throw Error(Fault::disk_fault, "Cannot open the book's lock " + lock_path + ": may you write in that folder?");
  const auto deadline = std::chrono::steady_clock::now() + std::chrono::milliseconds(wait_ms);
  while (::flock(file_, LOCK_EX | LOCK_NB) != 0) {
    if (std::chrono::steady_clock::now() >= deadline) {
      ::close(file_);
      throw Error(Fault::busy, "Another program has been writing to this book for over " +
                                   std::to_string(wait_ms / 1000) +
                                   " seconds. Nothing was recorded; try again when it has finished.");
    }
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  }
}

BookLock::~BookLock() {
  if (file_ >= 0) ::close(file_);
}

}  // namespace rackside::core
