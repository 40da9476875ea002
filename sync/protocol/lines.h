#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <string_view>

#include "core/base/bytes.h"
#include "core/book/book.h"
#include "core/log/value.h"

namespace rackside::sync {

// What all messages of the protocol are made of: JSON lines, each at most kMostLine bytes, each well-formed in the
// event's own strict sense. Source: sync/PROTOCOL.md, section 1.

constexpr std::int64_t kProtocolVersion = 1;
constexpr std::size_t kMostLine = core::kMaxEventBytes;
constexpr std::string_view kLinesType = "application/x-ndjson";

/// Takes the next piece of a message; false when the peer is gone: stop.
using Sink = std::function<bool(std::string_view)>;
using ClockSource = std::function<core::ClockReading()>;

/// The line's value. Errors: too_large, protocol.
core::Value parse_line(std::string_view line);
/// One compact line with its line feed. Pure.
std::string to_line(const core::Value& value);

[[noreturn]] void bad_message(const std::string& what);
/// The version that a message's first line states must be ours. Errors: protocol, which says who must be renewed.
void require_version(const core::Value& first_line);
/// For a message that ends before its end was told: a wire that broke, a file that was not copied whole.
[[noreturn]] void cut_off();
/// Of a message that broke off or went wrong after that many new events of it were stored: the same Error, and how
/// many.
[[noreturn]] void throw_with_kept(const core::Error& error, std::size_t kept);

/// A member that must be there. Errors: protocol (names the member).
template <std::size_t N>
std::array<std::uint8_t, N> hex_member(const core::Value& object, std::string_view key) {
  const auto bytes = core::array_from_hex<N>(object.text(key));
  if (!bytes) bad_message("\"" + std::string(key) + "\" is missing or wrong");
  return *bytes;
}
std::uint32_t sequence_member(const core::Value& object, std::string_view key);

/// `["device, 16 hex",seq,"hash, 32 hex"]`: a head's hash travels as its first 16 bytes, the rest reads as zeros.
core::Value head_value(const core::Head& head);
core::Head head_of(const core::Value& value);

/// `{"error":NAME,"message":TEXT}`: how a peer says no, in any message. Throws the Error that such a line states;
/// returns when the value is no such line.
void throw_if_error(const core::Value& value);
std::string error_line(const core::Error& error);

/// "3f2a91c0": how people are shown a collection.
std::string short_name(const core::CollectionId& collection);
/// The one message for two books that are of two collections.
[[noreturn]] void refuse_other_collection(const core::CollectionId& mine, const std::string& my_name,
                                          const core::CollectionId& other, const std::string& other_name);

}  // namespace rackside::sync
