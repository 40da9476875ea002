#pragma once

#include <rapidcheck.h>

#include <iostream>
#include <string>
#include <utility>

#include "tests/support/catch.h"

namespace rackside::tests {

/// Checks a property inside a Catch test case: a counterexample fails the test case. The seed is printed on every run;
/// to repeat one, set RC_PARAMS="seed=N" (more cases: "max_success=N").
template <typename Testable>
void check_property(const std::string& sentence, Testable&& testable) {
  const auto seed = rc::detail::configuration().testParams.seed;
  std::cout << "property, seed " << seed << ": " << sentence << std::endl;
  INFO(sentence << " (repeat with RC_PARAMS=\"seed=" << seed << "\")");
  CHECK(rc::check(sentence, std::forward<Testable>(testable)));
}

}  // namespace rackside::tests
