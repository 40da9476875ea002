#pragma once

#include <nlohmann/json.hpp>

#include "tests/support/catch.h"
#include "tests/support/program.h"

namespace rackside::tests {

/// A book of its own in which a test types what a keeper would.
class TypedBook {
 public:
  TypedBook() { run({"init", "Robin"}); }

  Run try_run(std::vector<std::string> words) const {
    words.insert(words.begin(), {"--book", path});
    return run_rackside(words);
  }
  /// What must succeed.
  Run run(const std::vector<std::string>& words) const {
    const Run outcome = try_run(words);
    INFO(outcome.out << outcome.err);
    REQUIRE(outcome.status == 0);
    return outcome;
  }
  nlohmann::json json(std::vector<std::string> words) const {
    words.insert(words.begin(), "--json");
    return nlohmann::json::parse(run(words).out);
  }

  Folder folder;
  std::string path = (folder / "typed.book");
};

}  // namespace rackside::tests
