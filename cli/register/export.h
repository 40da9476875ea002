#pragma once

#include <string>

#include "cli/session.h"

namespace rackside::cli {

/// Writes everything that the book holds into files of a folder: animals.csv (the columns that `import` reads),
/// places.csv, events.csv (withdrawn ones too, said in words), log.jsonl (each event's own bytes, and what was sealed).
/// Errors: bad_input where the folder cannot be written.
void export_all(Session& session, const std::string& folder);

}  // namespace rackside::cli
