#pragma once

#include <cstddef>
#include <map>
#include <string>

namespace rackside::sync::http {

/// Who holds how many connections. Not safe for several threads: its owner locks.
class Shares {
 public:
  Shares(std::size_t all, std::size_t each) : all_(all), each_(each) {}

  enum class Entry { granted, refused };
  Entry enter(const std::string& key);
  void leave(const std::string& key);
  std::size_t total() const { return total_; }

 private:
  std::size_t all_;
  std::size_t each_;
  std::size_t total_ = 0;
  std::map<std::string, std::size_t> held_;
};

}  // namespace rackside::sync::http
