#include "sync/join/gate.h"

namespace rackside::sync::join {

http::Admit gate(Desk& desk) {
  return [&desk](const http::Request& request, std::string_view right) {
    const std::optional<DeviceToken> holder = desk.check(request.token);
    if (!holder)
      return http::Admission{
          http::error_response(401, "not-allowed", "This device has not joined, or was removed. Join it again."), "",
          ""};
    const std::string role(role_name(holder->role));
    if (may(holder->role, right) == Permission::denied)
      return http::Admission{
          http::error_response(403, "not-allowed", "A " + role + " may not do this. Ask the keeper to do it."), "", ""};
    return http::Admission{std::nullopt, holder->device, role};
  };
}

}  // namespace rackside::sync::join
