#pragma once

#include <string>
#include <vector>

#include "core/entry/entry.h"
#include "core/entry/scene.h"

namespace rackside::core {

/// What is said loudly (`warnings`) and softly (`notices`) about an entry that is saved all the same. Pure. `told`:
/// whom it tells of; for `paired` the visitor, then the host.
void warn_of(const Scene& scene, const Entry& entry, const std::vector<const Resident*>& told,
             std::vector<std::string>& warnings, std::vector<std::string>& notices);

}  // namespace rackside::core
