#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/book/book.h"
#include "sync/join/roles.h"

namespace rackside::sync::hub {

/// One writer of events, as the book knows it.
struct Member {
  core::DeviceId device{};
  std::string name;                    ///< of the device, as said when it joined; empty when nobody said one
  core::Role role = core::Role::none;  ///< none: nobody admitted it, its events are not read
  bool is_clock = false;
  bool is_retired = false;
  bool is_self = false;
  std::uint32_t events = 0;
  std::size_t lines = 1;                      ///< more than one: forked
  std::optional<std::int64_t> last_entry_ms;  ///< observed time of its newest event
  std::optional<std::int64_t> offset_ms;      ///< how far its clock was off at the last check that this book made
  std::optional<std::int64_t> seen_ms;        ///< when this hub last heard from it
  std::optional<std::int64_t> unsent;         ///< entries that waited on it then, as it said
  std::optional<std::int64_t> oldest_ms;      ///< when the oldest of these was made
};

std::vector<Member> members(core::Book& book);

/// Finds a device by the beginning of its id or by its name, any case. Errors: unknown_code, ambiguous.
Member find_member(core::Book& book, const std::string& text);

/// Whether `heir` is that device, or succeeded it, directly or through others, by what this book has read.
bool is_or_succeeded(core::Book& book, const core::DeviceId& device, const core::DeviceId& heir);
/// The device and those it succeeded, newest first.
std::vector<core::DeviceId> with_predecessors(core::Book& book, const core::DeviceId& device);

/// Only a keeper's admissions count. Errors: not_allowed when this book's device is none.
void require_keeper(core::Book& book);

/// What a hub writes when a device joins: its admission, and the registration of the person who will use it, where the
/// invitation names one that is not registered yet. Returns the helper's code, empty without a person.
/// A device that has this role already is not admitted again; one that gets another role has it from its next event on.
/// Errors: not_allowed (it was retired; this book's device is no keeper).
std::string admit(core::Book& book, const core::DeviceId& device, join::Role role, const std::string& device_name,
                  const std::string& person, const core::ClockReading& now);

/// Writes `retired`, naming the newest event that is held of the device. Errors: usage (this very device, the root).
void retire(core::Book& book, const Member& member, const core::ClockReading& now);

/// Gives a device another name; its role and what it wrote stay. Errors: not_allowed (this book's device is no keeper),
/// usage (nobody admitted that device).
void rename(core::Book& book, const Member& member, const std::string& name, const core::ClockReading& now);

}  // namespace rackside::sync::hub
