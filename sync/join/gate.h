#pragma once

#include "sync/http/server.h"
#include "sync/join/desk.h"

namespace rackside::sync::join {

/// Admits a caller to a route: 401 without a valid token, 403 where the table of rights denies its role. The desk must
/// outlive what is returned.
http::Admit gate(Desk& desk);

}  // namespace rackside::sync::join
