#pragma once

#include <sys/types.h>

#include <string>
#include <vector>

#include "core/book/book.h"
#include "tests/support/program.h"

namespace rackside::tests {

/// The real program, running beside the test.
class Process {
 public:
  Process() = default;
  /// Starts `rackside ARGUMENTS…`; its output goes to files beside `log`.
  Process(const std::vector<std::string>& arguments, const std::string& log);
  ~Process();  ///< kills
  Process(Process&& other) noexcept { *this = std::move(other); }
  Process& operator=(Process&& other) noexcept;

  bool running();
  void signal(int number) const;
  /// Its exit status, 128 + the signal that ended it.
  int wait();
  /// The most memory that it held, once it has ended.
  long peak_kib() const { return peak_kib_; }
  std::string output() const;
  std::string errors() const;

 private:
  pid_t process_ = -1;
  int status_ = -1;
  long peak_kib_ = 0;
  std::string log_;
};

/// A hub process and where it listens.
struct HubProcess {
  Process process;
  std::string url;
};
enum class Security { plain, tls };
/// `port` 0 picks one. Waits until it accepts.
HubProcess start_hub(const Folder& folder, const std::string& book, Security security, int port = 0);
int port_of(const std::string& url);

/// Founds a book at a path with a hub's device that is keeper and clock.
void found_book(const std::string& path, const std::string& name);
core::ClockReading clock_now();
std::string join_code(const std::string& hub_book, const std::string& role = "helper", const std::string& person = "");
/// Invites at the hub and joins with a new book. Returns the outcome of `join`.
Run join_hub(const HubProcess& hub, const std::string& hub_book, const std::string& book,
             const std::string& role = "helper", const std::string& person = "");
/// Records that many feedings, straight into the book.
std::vector<core::EventRef> record_feedings(const std::string& book, int count);
core::Digest digest_of(const std::string& book);

}  // namespace rackside::tests
