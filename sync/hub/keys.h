#pragma once

#include <string>
#include <vector>

#include "sync/tls/authority.h"

namespace rackside::sync::hub {

/// The hub's keys, in a file of mode 0600 beside its book: "BOOK-hub.keys".
std::string keys_path(const std::string& book_path);

/// Reads the hub's identity, or makes one at the first start, under `name` or a random one. Renews the leaf where
/// needed. The name is fixed for ever at the first start, because phones and their stores are bound to it.
/// Errors: usage (another name than the first), bad_input (a damaged key file), disk_full, disk_fault.
tls::HubIdentity open_identity(const std::string& book_path, const std::string& name,
                               const std::vector<std::string>& addresses, std::int64_t now_ms);

/// Renews the leaf where needed and stores it. Errors: as above.
tls::Renewal renew(tls::HubIdentity& identity, const std::string& book_path, const std::vector<std::string>& addresses,
                   std::int64_t now_ms);

/// The numeric addresses of this machine: private ones first, loopback last, no link-local.
std::vector<std::string> machine_addresses();

}  // namespace rackside::sync::hub
