#pragma once

#include <functional>
#include <string>
#include <vector>

#include "cli/photos/worker.h"

namespace rackside::cli {

/// The pictures that these names mean: files as they are, folders as the JPEG and PNG files in them, by name.
/// Errors: bad_input for a folder that cannot be listed or holds no picture.
std::vector<std::string> pictures_of(const std::vector<std::string>& names);

/// Reads pictures on all cores, each in a child process, and hands their outcomes over in the order of the names, in
/// the calling thread. `progress` is told how many are done, whenever one is.
void read_batch(const std::vector<std::string>& paths, labels::ReadScope scope,
                const std::function<void(std::size_t, const PictureOutcome&)>& take,
                const std::function<void(std::size_t)>& progress);

}  // namespace rackside::cli
