#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace rackside::labels {

/// What is appended to a PDF so that it asks to be printed at its own size: an incremental update of its catalogue
/// with the viewer preference PrintScaling None. Source: ISO 32000-1, 7.5.6 (updates) and 12.2 (preferences).
/// `tail` is the end of the file, `size` the length of the whole. Empty where the file's end has another form than the
/// drawing library is known to give it: a file without the wish is still a good file.
std::string unscaled_update(std::string_view tail, std::size_t size);

}  // namespace rackside::labels
