#pragma once

#include "core/book/database.h"

namespace rackside::core {

constexpr int kSchemaVersion = 1;

/// Brings a database to `kSchemaVersion` by the numbered migrations it lacks, each in one transaction.
/// Errors: NotABook for a database of something else, NewerBook for one written by a newer program.
void migrate(Database& database);

/// Empties every table that is folded from the log. Call inside a transaction.
void clear_folded(Database& database);

}  // namespace rackside::core
