#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace rackside::cli {

/// A short text in letters three lines high, of block characters, to be read at arm's length; nothing when a character
/// has no such form or it would be wider than `width` cells. Pure.
std::vector<std::string> banner(std::string_view text, int width);

}  // namespace rackside::cli
