#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/session.h"

namespace rackside::cli {

/// What photos of tubs gave, ready to be taken like scanned lines.
struct PhotoScan {
  std::vector<std::string>
      codes;  ///< each once, picture by picture; a place gives way to the card of who is found there
  std::vector<std::string> problems;   ///< a message for each picture that gave nothing
  std::optional<core::Fault> failure;  ///< set when a picture gave nothing
};
/// Reads every code in the pictures; a bad picture does not stop the others.
PhotoScan read_photos(Session& session, const std::vector<std::string>& paths);

}  // namespace rackside::cli
