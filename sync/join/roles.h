#pragma once

#include <optional>
#include <span>
#include <string_view>

namespace rackside::sync::join {

enum class Role { keeper, helper, viewer };

std::string_view role_name(Role role);  ///< "keeper", "helper", "viewer": stable, stored
std::optional<Role> role_from_name(std::string_view name);

/// One row of the table of who may do what at the hub. A route of the server names its right (RouteOptions::right); a
/// route without one is open to everybody. Adding a right is adding a row. (What a role may *write into the log* is
/// judged by the log's own admission, whatever way an event comes.)
struct RightRow {
  std::string_view right;
  bool keeper, helper, viewer;
  std::string_view what;  ///< for people
};

std::span<const RightRow> rights_table();

enum class Permission { granted, denied };
/// A right that the table does not know is denied to everyone.
Permission may(Role role, std::string_view right);

}  // namespace rackside::sync::join
