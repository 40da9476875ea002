#pragma once

#include <string>

#include "cli/photos/worker.h"

namespace rackside::cli {

/// An outcome as one line without its ending, and back: what passes from the child to its parent. Codes are judged
/// again on the way back, by their check characters.
std::string to_line(const PictureOutcome& outcome);
/// Errors: internal, when the line is none of to_line's.
PictureOutcome outcome_of(const std::string& line);

}  // namespace rackside::cli
