#pragma once

#include <string>

namespace rackside::cli {

class Session;

/// Copies the book, with the hub's keys where it is one, to `target` (a file, or a folder in which it gets a name with
/// today's date), reads the copy back and compares it, while a hub may go on serving. Replaces an older backup of the
/// same collection, and nothing else. Errors: usage, book_exists, disk_full, disk_fault.
void make_backup(Session& session, const std::string& target);

/// Makes the session's book from a backup; it goes on as a new device, because the lost book may not be lost.
/// Errors: book_exists (a book is there already), not_a_book, newer_book, corrupt, disk_full, disk_fault.
void restore_backup(Session& session, const std::string& backup);

/// A sentence where this is the hub's or only book and its last backup is old or was never made; else empty.
std::string backup_reminder(Session& session);

}  // namespace rackside::cli
