#pragma once

#include <string>
#include <vector>

#include "cli/session.h"
#include "core/entry/scene.h"

namespace rackside::cli {

/// Who it is and what is due, at a glance.
struct Card {
  std::string headline;               ///< short IDs, for large letters
  std::string line;                   ///< all of it on one plain line
  std::vector<std::string> lines;     ///< the same for a terminal
  std::vector<std::string> cautions;  ///< "perhaps fed twice: leave alone", "check the tub"
};
Card card_of(Session& session, core::Reader& reader, const core::Scene& scene);

std::string joined_labels(const std::vector<core::Named>& things, const std::string& between);

}  // namespace rackside::cli
