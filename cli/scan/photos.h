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
  std::size_t pictures = 0;
};
/// Reads every code in the pictures, given as files and folders, on all cores; a bad picture does not stop the others.
/// Tells at once which labels were seen and not read.
/// Errors: bad_input for a folder without pictures.
PhotoScan read_photos(Session& session, const std::vector<std::string>& names);

/// A tub photographed with its animal's card must not be recorded twice: the card always beats the place.
void let_cards_beat_places(Session& session, std::vector<std::string>& codes);

}  // namespace rackside::cli
