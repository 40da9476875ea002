#pragma once

#include <functional>
#include <string>
#include <string_view>

namespace rackside::bench {

/// Reads a file line by line out of blocks of a megabyte, as both sides of a comparison are fed. Behind every line
/// there are at least `padding` readable bytes.
void for_each_line(const std::string& path, std::size_t padding, const std::function<void(std::string_view line)>& use);

}  // namespace rackside::bench
