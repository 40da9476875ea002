// Every file of the fuzzers' corpus, read again without a fuzzer: where they start, and what they once found.
#include <algorithm>
#include <filesystem>
#include <iostream>

#include "tests/fuzz/targets.h"
#include "tests/support/catch.h"
#include "tests/support/program.h"

using namespace rackside::tests;

TEST_CASE("what the fuzzers start from and what they found is read, and keeps its promises", "[fuzz]") {
  for (const FuzzTarget& target : fuzz_targets()) {
    DYNAMIC_SECTION(target.name) {
      const std::string folder = std::string(RACKSIDE_SOURCE_DIR "/tests/fuzz/corpus/") + std::string(target.name);
      std::size_t files = 0;
      for (const auto& file : std::filesystem::directory_iterator(folder)) {
        const std::string bytes = read_text(file.path());
        // A broken promise aborts: name the file before.
        std::cerr << "corpus: " << file.path().filename() << std::endl;
        target.run(bytes);
        // And whatever remains of it when it is cut.
        for (std::size_t part = 1; part < 8; ++part)
          target.run(std::string_view(bytes).substr(0, bytes.size() * part / 8));
        ++files;
      }
      CHECK(files > 0);
    }
  }
}
