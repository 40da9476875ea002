#pragma once

#include <unistd.h>

#include <filesystem>

#include "tests/support/catch.h"
#include "tests/support/world.h"

namespace rackside::tests {

/// A hub and three helpers.
struct ThreeHelpers {
  World world;
  Device& a = world.device("a");
  Device& b = world.device("b");
  Device& c = world.device("c");
  std::vector<Device*> all{&world.hub(), &a, &b, &c};
  /// From here on the hub has checked their clocks.
  void check_clocks() { world.sync_all(); }
  std::unique_ptr<core::Book> merged() { return world.check_arrivals(all); }
};

inline core::Value setting(const std::string& field, core::Value value) {
  return core::Value::Object{{"set", core::Value::Object{{field, std::move(value)}}}};
}
inline std::vector<core::Answer> saw(const core::EventRef& ref) {
  return {{ref, core::Relation::saw}};
}
inline std::vector<core::Answer> again(const core::EventRef& ref) {
  return {{ref, core::Relation::again}};
}
inline std::vector<core::Answer> replaces(const core::EventRef& ref) {
  return {{ref, core::Relation::replaces}};
}

/// The only matter of a rule about a thing.
inline Seen only(core::Book& book, core::RuleId rule, const std::string& code) {
  const auto all = matters(book, rule, code);
  REQUIRE(all.size() == 1);
  return all.front();
}

/// A copy of a device's book, as a restored backup or a second tab has it: same key, same log so far.
class Copy {
 public:
  Copy(Device& original, const std::string& name)
      : path_((std::filesystem::temp_directory_path() / ("rackside-copy-" + name + "-" + std::to_string(getpid())))
                  .string()) {
    remove();
    original.book().database().execute("VACUUM INTO '" + path_ + "'");
    device_ = std::make_unique<Device>(core::Book::open(path_), name);
    device_->run = 77;  // a restored phone starts anew
  }
  ~Copy() {
    device_.reset();
    remove();
  }
  Copy(const Copy&) = delete;
  Copy& operator=(const Copy&) = delete;
  Device& device() { return *device_; }

 private:
  void remove() {
    for (const char* end : {"", "-wal", "-shm", "-lock"}) std::filesystem::remove(path_ + end);
  }
  std::string path_;
  std::unique_ptr<Device> device_;
};

}  // namespace rackside::tests
