#include "core/base/error.h"

#include <array>

namespace rackside::core {
namespace {

constexpr std::array<FaultInfo, 26> kTable = {{
    {Fault::usage, "usage", 2, 400},
    {Fault::bad_code, "bad-code", 3, 400},
    {Fault::unknown_code, "unknown-code", 4, 404},
    {Fault::ambiguous, "ambiguous", 5, 409},
    {Fault::bad_input, "bad-input", 6, 400},
    {Fault::unreadable_image, "unreadable-image", 1, 422},
    {Fault::nothing_read, "nothing-read", 1, 422},
    {Fault::no_book, "no-book", 10, 500},
    {Fault::not_a_book, "not-a-book", 11, 500},
    {Fault::newer_book, "newer-book", 12, 500},
    {Fault::book_exists, "book-exists", 13, 409},
    {Fault::busy, "busy", 14, 503},
    {Fault::disk_full, "disk-full", 15, 507},
    {Fault::disk_fault, "disk-fault", 16, 500},
    {Fault::corrupt, "corrupt", 17, 500},
    {Fault::bad_event, "bad-event", 20, 422},
    {Fault::broken_chain, "broken-chain", 21, 409},
    {Fault::bad_signature, "bad-signature", 22, 422},
    {Fault::other_collection, "other-collection", 23, 409},
    {Fault::other_hub, "other-hub", 24, 421},
    {Fault::expired_code, "expired-code", 25, 403},
    {Fault::not_allowed, "not-allowed", 26, 403},
    {Fault::unreachable, "unreachable", 27, 502},
    {Fault::protocol, "protocol", 28, 400},
    {Fault::too_large, "too-large", 29, 413},
    {Fault::internal, "internal", 70, 500},
}};

}  // namespace

std::span<const FaultInfo> error_table() {
  return kTable;
}

const FaultInfo& fault_info(Fault fault) {
  return kTable.at(static_cast<std::size_t>(fault));
}

}  // namespace rackside::core
