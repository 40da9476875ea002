#include "tests/bench/line_reader.h"

#include <algorithm>
#include <fstream>
#include <stdexcept>

namespace rackside::bench {
namespace {

/// Uses the whole lines and returns how many bytes they were.
std::size_t use_lines(std::string_view block, const std::function<void(std::string_view)>& use) {
  std::size_t begin = 0;
  for (std::size_t end; (end = block.find('\n', begin)) != std::string_view::npos; begin = end + 1) {
    use(block.substr(begin, end - begin));
  }
  return begin;
}

}  // namespace

void for_each_line(const std::string& path, std::size_t padding, const std::function<void(std::string_view)>& use) {
  constexpr std::size_t kBlock = 1 << 20;
  std::ifstream in(path, std::ios::binary);
  if (!in) throw std::runtime_error("cannot read " + path);
  std::string buffer(kBlock + padding, '\0');
  std::size_t kept = 0;
  while (in) {
    in.read(buffer.data() + kept, static_cast<std::streamsize>(kBlock - kept));
    const std::size_t filled = kept + static_cast<std::size_t>(in.gcount());
    const std::size_t used = use_lines(std::string_view(buffer.data(), filled), use);
    if (used == 0 && filled > 0) throw std::runtime_error("a line of " + path + " has no end");
    kept = filled - used;
    std::copy_n(buffer.data() + used, kept, buffer.data());
  }
}

}  // namespace rackside::bench
