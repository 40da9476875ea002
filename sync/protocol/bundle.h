#pragma once

#include "sync/protocol/exchange.h"

namespace rackside::sync {

// A bundle: a stream of events in a file, carried by memory stick or mail. It flows one way and checks no clocks.

enum class BundleOf { everything, own_device };

struct BundleResult {
  std::size_t events = 0;  ///< written, or read and new
  std::size_t known = 0;   ///< read, held already
  std::vector<core::DeviceId> forked;
};

/// Writes to a temporary name, syncs, renames: a bundle is whole or not there. Errors: disk_full, disk_fault, usage.
BundleResult write_bundle(core::Book& book, const std::string& path, BundleOf what, const ClockSource& clock,
                          const OnProgress& on_progress = {});
/// Errors: bad_input (no file, no bundle), other_collection, protocol (cut off: what came whole stays), those of
/// Book::merge.
BundleResult read_bundle(core::Book& book, const std::string& path, const OnProgress& on_progress = {});

}  // namespace rackside::sync
