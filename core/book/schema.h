#pragma once

#include "core/book/database.h"

namespace rackside::core {

constexpr int kSchemaVersion = 8;

/// The row of table `due` that is of all places together; the others are of one animal each.
constexpr std::int64_t kRowOfPlaces = 0;

/// Brings a database to `kSchemaVersion` by the numbered migrations it lacks, each in one transaction.
/// Errors: as needs_migration.
void migrate(Database& database);

/// Whether `migrate` has anything to do: it writes, so its caller holds the book's lock.
/// Errors: NotABook, NewerBook.
bool needs_migration(Database& database);

/// Empties every table that is folded from the log. Call inside a transaction.
void clear_folded(Database& database);

}  // namespace rackside::core
