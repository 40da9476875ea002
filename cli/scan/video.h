#pragma once

#include <string>
#include <vector>

#include "cli/photos/walk.h"
#include "cli/session.h"

namespace rackside::cli {

/// Reads a film of a walk along the racks, or a camera until it ends, on all cores: `per_second` pictures of it.
/// Errors: as Film; nothing_read when no code came of it.
Walk walk_along(Session& session, const std::string& source, double per_second);

/// Who was seen when, and how that compares with the book. Records nothing.
void tell_stock(Session& session, const Walk& walk);

}  // namespace rackside::cli
