#pragma once

#include <vector>

#include "core/read/reader.h"

namespace rackside::core {

/// Who ate so lately that nobody is to pair, weigh, move or ship it, by label. Those that `Today::resting` counts.
std::vector<Named> resting_animals(Reader& reader, Instant now);

}  // namespace rackside::core
