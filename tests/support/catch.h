#pragma once

// The one place that knows which Catch2 the system has: 2.13 (Debian 12) is one header, 3 (Debian 13) is many. Tests
// use only what both accept; for "a text contains another" use contains() below, whose matcher was renamed.

#if __has_include(<catch2/catch_test_macros.hpp>)
#include <catch2/catch_approx.hpp>
#include <catch2/catch_test_macros.hpp>
#include <catch2/generators/catch_generators_all.hpp>
#else
#include <catch2/catch.hpp>
#endif

#include <string_view>

namespace rackside::tests {

inline bool contains(std::string_view text, std::string_view part) {
  return text.find(part) != std::string_view::npos;
}

}  // namespace rackside::tests
