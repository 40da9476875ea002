#pragma once

#include <sys/types.h>

#include <string>

namespace rackside::cli {

/// A command run by the shell, with its standard input and output in our hands. Its errors go to our own.
class Child {
 public:
  /// Errors: unreachable (no process to be had).
  explicit Child(const std::string& command);
  ~Child();  ///< finishes
  Child(const Child&) = delete;
  Child& operator=(const Child&) = delete;

  int from() const { return from_; }  ///< its output
  int to() const { return to_; }      ///< its input
  /// Closes both and waits; its exit status, 128 + the signal that ended it.
  int finish();

 private:
  pid_t process_ = -1;
  int from_ = -1;
  int to_ = -1;
  int status_ = 0;
};

}  // namespace rackside::cli
