#pragma once

#include <optional>
#include <string>

namespace rackside::cli {

/// Lines from a scanner or a person: ended by line feed, carriage return, both, tab, vertical tab or form feed, as
/// scanners can be set. Empty lines are left out.
class ScanInput {
 public:
  explicit ScanInput(int file) : file_(file) {}
  /// Waits for the next line; nothing at the end. A last line without an ending counts.
  std::optional<std::string> next();

 private:
  bool fill();

  int file_;
  std::string buffer_;
  std::size_t at_ = 0;
  bool ended_ = false;
};

}  // namespace rackside::cli
