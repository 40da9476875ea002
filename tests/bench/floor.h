#pragma once

#include <cstddef>
#include <string>

namespace rackside::bench {

/// The floor: what storing the same JSON lines costs when nothing is checked, judged or folded. One SQLite table with
/// the key (device, seq), the event's bytes, its subject and time, and an index on (subject, time); read by simdjson,
/// one transaction, WAL, synchronous FULL.
/// Takes a whole stream into the file at `database`, which is made when it is not there; events that are there already
/// are left alone. Returns how many were stored.
std::size_t feed_floor(const std::string& stream, const std::string& database);

}  // namespace rackside::bench
