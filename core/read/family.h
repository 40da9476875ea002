#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/read/reader.h"

namespace rackside::core {

/// What is said of an animal's parents, withdrawn statements left out. Of several dams the one that was said last.
struct ParentsSaid {
  std::optional<Thing> dam;
  std::vector<Thing> sires;           ///< several: nobody knows which is right
  std::vector<Thing> possible_sires;  ///< only what is not among `sires`
};
ParentsSaid parents_said(Reader& reader, Thing animal);
/// "C-5 × C-3", "C-5 or C-6 × C-3", "? × C-3"; empty where nothing is said. The sire stands first.
std::string parents_text(Reader& reader, const ParentsSaid& parents);

}  // namespace rackside::core
