#pragma once

#include <string>

#include "sync/http/server.h"

namespace rackside::sync::page {

/// Adds the secure page's files to a server, and `/trusted`, by which the plain page finds out whether this phone
/// trusts the hub. Files are sent compressed, with the hash of their content as ETag; browsers ask again each time and
/// get 304. Only the worker that decodes pictures may compile WebAssembly.
void add_app_routes(http::Server& server);

/// What the plain page tells.
struct TrustFacts {
  std::string authority_der;
  std::string fingerprint;  ///< grouped, as the hub's screen shows it
  std::string secure_url;   ///< "https://rack-1234abcd.local:8443"
  std::string hub_name;
};

/// Adds the plain page: the steps, and the authority to install. Nothing else is ever served there.
void add_trust_routes(http::Server& server, const TrustFacts& facts);

/// The content policy of each.
std::string app_policy();
std::string trust_policy(const TrustFacts& facts);

}  // namespace rackside::sync::page
