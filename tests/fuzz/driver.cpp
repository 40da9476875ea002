// What libFuzzer calls, with -DRACKSIDE_FUZZ=ON (clang only). Which target: RACKSIDE_FUZZ_TARGET in the environment.
#ifdef RACKSIDE_FUZZ_DRIVER
#include <cstdint>
#include <cstdio>
#include <cstdlib>

#include "tests/fuzz/targets.h"

namespace {

const rackside::tests::FuzzTarget& chosen() {
  const char* name = std::getenv("RACKSIDE_FUZZ_TARGET");
  for (const rackside::tests::FuzzTarget& target : rackside::tests::fuzz_targets()) {
    if (name != nullptr && target.name == name) return target;
  }
  std::fprintf(stderr, "RACKSIDE_FUZZ_TARGET names no target\n");
  std::exit(2);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const rackside::tests::FuzzTarget& target = chosen();
  target.run({reinterpret_cast<const char*>(data), size});
  return 0;
}
#endif
