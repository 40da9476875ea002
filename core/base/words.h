#pragma once

#include <cstddef>
#include <string_view>

namespace rackside::core {

/// How many letters must be changed, added or left out to make one word of the other; the case of A to Z does not
/// count. For "do you mean". Levenshtein's distance, by bytes.
std::size_t edit_distance(std::string_view a, std::string_view b);

}  // namespace rackside::core
