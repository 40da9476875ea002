#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>

namespace rackside::core {

enum class Utf8Kind : std::uint8_t { good, invalid, surrogate };

struct Utf8Step {
  Utf8Kind kind = Utf8Kind::good;
  std::size_t length = 1;  ///< bytes to move on: of the character; else of its longest well-begun part
};

/// The character of `text` that begins at byte `at`, which is inside the text. A surrogate is three bytes that would
/// be U+D800 to U+DFFF. Source: Unicode 15, table 3-7 (well-formed UTF-8).
Utf8Step utf8_step(std::string_view text, std::size_t at);

}  // namespace rackside::core
