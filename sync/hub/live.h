#pragma once

#include <condition_variable>
#include <deque>
#include <functional>
#include <map>
#include <mutex>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include "core/book/book.h"
#include "sync/http/message.h"

namespace rackside::sync::hub {

/// Tells connected phones what others record, and who is at which rack, within a fraction of a second. Each stream runs
/// on its own connection's thread; one more thread looks into the book, which other processes write too, for as long as
/// anybody listens. Source: sync/PROTOCOL.md, section 9. Thread: safe.
class Live {
 public:
  /// `open` gives a book of its own for the watching thread.
  explicit Live(std::function<std::shared_ptr<core::Book>()> open);
  ~Live();
  Live(const Live&) = delete;
  Live& operator=(const Live&) = delete;

  /// The pieces of one device's stream, without end.
  http::Producer stream(const std::string& device);
  /// Devices that listen now.
  std::set<std::string> listening();

  struct Claim {
    std::string rack;  ///< code
    std::string by;    ///< the helper's code
    std::string device;
    std::int64_t at_ms = 0;
  };
  /// Somebody is at a rack from now on, or (`free`) no longer. Held in memory only: a rack that nobody has touched for
  /// four hours is free, and after a restart of the hub all are.
  void claim(const Claim& claim);
  void free(const std::string& rack);
  std::vector<Claim> claims(std::int64_t now_ms);

 private:
  void watch();
  void look(core::Book& book);
  void tell_of(core::Book& book, const core::Head& head, std::uint32_t after, std::vector<std::string>& lines);
  /// All at once: each time wakes every listener.
  void publish(std::vector<std::string> lines);

  std::function<std::shared_ptr<core::Book>()> open_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<std::string> recent_;  ///< the newest lines, the last of which has the number `last_`
  std::uint64_t last_ = 0;
  std::multiset<std::string> listeners_;  ///< by device
  bool ending_ = false;
  std::map<std::string, Claim> claims_;           ///< by rack
  std::map<core::DeviceId, std::uint32_t> told_;  ///< the watching thread's own
  std::thread watcher_;
};

}  // namespace rackside::sync::hub
