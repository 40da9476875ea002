#pragma once

#include <functional>
#include <string>
#include <vector>

#include "labels/read/read.h"

namespace rackside::cli {

/// "third label of row two: too blurred; hold still …", one line for each label that was seen and not read. Rows are
/// counted over all labels of the picture, read or not. `label_of` names a code that was read, for a neighbour.
std::vector<std::string> unread_lines(const labels::PictureReading& reading,
                                      const std::function<std::string(const core::Code&)>& label_of);

/// What is wrong and what to do about it.
std::string advice_for(labels::Unread why);

}  // namespace rackside::cli
