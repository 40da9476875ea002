#include "sync/join/roles.h"

#include <algorithm>
#include <array>

namespace rackside::sync::join {
namespace {

// clang-format off
constexpr std::array<RightRow, 9> kRights = {{
    //          keeper helper viewer
    {"look",    true,  true,  true,  "see the tubs, the day's work and the questions"},
    {"live",    true,  true,  true,  "be told at once what others record"},
    {"pull",    true,  true,  true,  "fetch events"},
    {"push",    true,  true,  false, "send in events"},
    {"photo",   true,  true,  false, "have the hub read a photo"},
    {"invite",  true,  false, false, "open a join code"},
    {"devices", true,  false, false, "list and revoke devices"},
    {"print",   true,  false, false, "print labels"},
    {"backup",  true,  false, false, "fetch a backup"},
}};
// clang-format on

struct RoleName {
  Role role;
  std::string_view name;
};
constexpr std::array<RoleName, 3> kRoles = {
    {{Role::keeper, "keeper"}, {Role::helper, "helper"}, {Role::viewer, "viewer"}}};

bool allows(const RightRow& row, Role role) {
  if (role == Role::keeper) return row.keeper;
  return role == Role::helper ? row.helper : row.viewer;
}

}  // namespace

std::string_view role_name(Role role) {
  return kRoles.at(static_cast<std::size_t>(role)).name;
}

std::optional<Role> role_from_name(std::string_view name) {
  const auto found = std::find_if(kRoles.begin(), kRoles.end(), [&](const RoleName& row) { return row.name == name; });
  if (found == kRoles.end()) return std::nullopt;
  return found->role;
}

std::span<const RightRow> rights_table() {
  return kRights;
}

Permission may(Role role, std::string_view right) {
  const auto row = std::find_if(kRights.begin(), kRights.end(), [&](const RightRow& r) { return r.right == right; });
  return row != kRights.end() && allows(*row, role) ? Permission::granted : Permission::denied;
}

}  // namespace rackside::sync::join
