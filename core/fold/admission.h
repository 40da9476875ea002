#pragma once

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/log/event.h"

namespace rackside::core {

enum class Role : std::uint8_t { none, viewer, helper, keeper, root };
std::string_view word_of(Role role);
std::optional<Role> role_of(std::string_view word);

/// `admitted`, `retired` or `succeeded`, with the line it stands on.
struct AdmissionEvent {
  EventRef ref;  ///< author, number, hash
  Kind kind = Kind::admitted;
  DeviceId device{};  ///< whom it admits, retires, or the successor's id
  Role role = Role::none;
  bool clock = false;            ///< its clock checks count
  std::uint32_t from = 0;        ///< admitted: the role holds from this number of the device on
  std::optional<EventRef> head;  ///< retired: events up to this one are read
};

struct Standing {
  Role role = Role::none;  ///< as of its newest admission
  bool clock = false;
  int depth = 0;  ///< steps from the root
  DeviceId admitted_by{};
  std::optional<EventRef> read_until;  ///< retired: the head up to which it is read
  bool retired = false;
  std::vector<std::pair<std::uint32_t, Role>> roles;  ///< ascending: the role from that number on
  bool operator==(const Standing&) const = default;
  Role role_at(std::uint32_t seq) const;
};

using Admission = std::map<DeviceId, Standing>;

/// Reads the tree of admissions downwards from the root. `on_line(event, head)` tells whether an event stands on the
/// line that ends in `head` (at or before it); false while the head is not held.
/// Only an ancestor changes or retires a device; between several, the nearest to the root, then the greatest
/// (device, seq, hash). Source: core/log/FORM.md, admission.
using OnLine = std::function<bool(const EventRef& event, const EventRef& head)>;
Admission read_admissions(const DeviceId& root, const std::vector<AdmissionEvent>& events, const OnLine& on_line);

}  // namespace rackside::core
