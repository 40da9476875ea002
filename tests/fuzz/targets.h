#pragma once

#include <span>
#include <string_view>

namespace rackside::tests {

/// Something that reads bytes of strangers. `run` ends the program by a call of abort when what it read breaks a
/// promise of its header; what it may refuse, it refuses quietly.
struct FuzzTarget {
  std::string_view name;  ///< also its folder in tests/fuzz/corpus
  void (*run)(std::string_view bytes);
};
std::span<const FuzzTarget> fuzz_targets();

}  // namespace rackside::tests
