#pragma once

#include <string>
#include <vector>

namespace rackside::tests {

/// Reads a folder that photo_set made with the named readers (ours, zxing, zbar; none: ours) and prints a table by
/// category. "missed" lists what ours did not read. 0, or 1 when a code was read that is in no label.
int judge(const std::string& folder, const std::vector<std::string>& words);

}  // namespace rackside::tests
