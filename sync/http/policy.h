#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sync/http/head.h"
#include "sync/http/message.h"

namespace rackside::sync::http {

enum class Scheme { http, https };

/// Against a foreign page that makes a name of its own point at the hub (DNS rebinding): the Host must be one of the
/// hub's names, or the very address this connection came in on.
std::optional<Refusal> check_host(const Head& head, const std::vector<std::string>& names, const std::string& local_ip);

/// Against foreign pages that make a browser send something: for anything but GET and HEAD, an Origin must be the hub's
/// own and Sec-Fetch-Site must say same-origin, where a browser sends them. Programs send neither.
std::optional<Refusal> check_origin(const Head& head, Scheme scheme);

/// Sent with every answer: no guessing of types, no framing, no foreign content, no address in a Referer.
std::vector<Field> security_fields(const std::string& content_security_policy);

inline constexpr std::string_view kContentSecurityPolicy =
    "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'";

}  // namespace rackside::sync::http
