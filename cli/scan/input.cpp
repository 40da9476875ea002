#include "cli/scan/input.h"

#include <errno.h>
#include <unistd.h>

namespace rackside::cli {
namespace {

constexpr std::size_t kLongestLine = 4096;  ///< longer is no scan: it is cut, and then not understood

bool ends_line(char c) {
  return c == '\n' || c == '\r' || c == '\t' || c == '\v' || c == '\f' || c == '\0';
}

}  // namespace

bool ScanInput::fill() {
  char bytes[4096];
  ssize_t count = 0;
  do {
    count = ::read(file_, bytes, sizeof bytes);
  } while (count < 0 && errno == EINTR);
  if (count <= 0) return false;
  buffer_.assign(bytes, static_cast<std::size_t>(count));
  at_ = 0;
  return true;
}

std::optional<std::string> ScanInput::next() {
  std::string line;
  while (!ended_) {
    if (at_ == buffer_.size() && !fill()) {
      ended_ = true;
      break;
    }
    const char c = buffer_[at_++];
    if (!ends_line(c)) {
      if (line.size() < kLongestLine) line += c;
    } else if (line.find_first_not_of(' ') != std::string::npos) {
      return line;
    } else {
      line.clear();
    }
  }
  return line.find_first_not_of(' ') == std::string::npos ? std::nullopt : std::optional(line);
}

}  // namespace rackside::cli
