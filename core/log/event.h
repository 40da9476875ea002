#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/bytes.h"
#include "core/log/kinds.h"
#include "core/log/value.h"

namespace rackside::core {

/// How an event answers an earlier one that its author's screen showed.
enum class Relation : std::uint8_t {
  saw = 1,   ///< knew of it; for `leftover`, `ate`, `voided`, `settled` …: this is what it speaks about
  again,     ///< a further one of the same: a second serving, more eggs
  same,      ///< a second account of the very same thing
  replaces,  ///< a correction: the earlier one is withdrawn
};
std::string_view word_of(Relation relation);
std::optional<Relation> relation_of(std::string_view word);

/// An event's name in another event. Text form: "<device, 16 hex>:<seq>:<hash, 32 hex>".
struct EventRef {
  DeviceId device{};
  std::uint32_t seq = 0;
  ShortHash hash{};
  auto operator<=>(const EventRef&) const = default;
};
std::string to_text(const EventRef& ref);
std::optional<EventRef> ref_from_text(std::string_view text);

struct Answer {
  EventRef event;
  Relation relation = Relation::saw;
  bool operator==(const Answer&) const = default;
};

/// The author's raw clock when he wrote: nothing is computed from it here.
struct ClockReading {
  std::int64_t wall_ms = 0;  ///< since 1970-01-01 UTC, as the device believed it
  std::uint64_t run = 0;     ///< random, new with every run of the device's monotonic clock
  std::int64_t run_ms = 0;   ///< since that run began
  bool operator==(const ClockReading&) const = default;
};

/// A time that a person gave, as said. Local to the collection's zone.
struct SaidTime {
  std::optional<int> day;          ///< days since 1970-01-01, only where a date was given
  std::optional<int> minute;       ///< minute of the day, 0..1439
  std::optional<int> minutes_ago;  ///< relative: excludes the other two
  bool operator==(const SaidTime&) const = default;
};

/// An event as its bytes say it. Written fields in this order: v, kind, of, place, shown, by, wall, run, ms, said, re,
/// the kind's own, seal. An absent part is not written.
struct Event {
  Kind kind = Kind::unknown;
  std::string kind_name;           ///< the word itself, also for a kind this program does not know
  std::vector<std::string> of;     ///< subjects, by code as read
  std::string place;               ///< the code of the place that was scanned, or the destination of a move
  std::vector<std::string> shown;  ///< codes of the animals that the screen showed for that place
  std::string by;                  ///< code of the helper
  ClockReading clock;
  std::optional<SaidTime> said;
  std::vector<Answer> re;
  Value own;                 ///< the kind's own fields, an object; unknown fields included
  std::optional<Hash> seal;  ///< SHA-256(salt || text) of the sealed part
  bool operator==(const Event&) const = default;
};

/// The text that travels beside an event and can be erased.
struct SealedPart {
  std::array<std::uint8_t, 16> salt{};
  std::string text;  ///< a compact JSON object: {"note":…} or {"name":…}
};
/// The most that an author seals: with its escapes it still fits one line of the protocol.
constexpr std::size_t kMaxSealedBytes = 16 * 1024;
Hash seal_digest(const SealedPart& part);

/// Writes an event's bytes once. Throws Error(too_large) over 65 536 bytes, Error(bad_event) for a value that no event
/// may hold (a key outside [a-z_]{1,32}, a number over 2^53 − 1).
std::string encode_event(const Event& event);

/// Reads verbatim bytes. Never refuses what is well-formed: a part of another type than expected is left in `own`
/// or at its default, and only the fold judges. nullopt with `problem` set when the bytes are not well-formed.
struct DecodedEvent {
  std::optional<Event> event;
  Malformed problem = Malformed::none;
};
DecodedEvent decode_event(std::string_view bytes);

}  // namespace rackside::core
