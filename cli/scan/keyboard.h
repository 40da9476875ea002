#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "core/codes/code.h"

namespace rackside::cli {

/// A handheld scanner types like a US keyboard; a computer set to another one turns the keys into other characters.
struct KeyboardLayout {
  std::string_view name;   ///< "German (QWERTZ)"
  std::string_view typed;  ///< characters that arrive …
  std::string_view meant;  ///< … and those that the scanner sent, in the same order (ASCII)
};
std::span<const KeyboardLayout> keyboard_layouts();

/// What the scanner sent, for a line that arrived through that layout. Pure.
std::string undo_layout(std::string_view line, const KeyboardLayout& layout);

struct LayoutReading {
  core::Code code;
  std::string layouts;  ///< the names of those under which it reads, for people
};
/// Tries every layout; gives a code only where exactly one passes its check and is known. Pure but for `known`.
std::optional<LayoutReading> read_through_layouts(std::string_view line,
                                                  const std::function<bool(const core::Code&)>& known);

/// How to set the scanner right.
std::string layout_advice(const std::string& layouts);

}  // namespace rackside::cli
