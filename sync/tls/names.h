#pragma once

#include <string>
#include <string_view>

namespace rackside::sync::tls {

/// Lower-case DNS name of two labels or more, 253 characters at most, whose last label is not a number.
/// Source: RFC 1123, section 2.1.
bool is_hub_name(std::string_view name);

/// One of the ranges that the authority is constrained to: loopback, RFC 1918, IPv4 link-local (RFC 3927), IPv6 unique
/// local (RFC 4193) and link-local (RFC 4291). False for anything that is no numeric address.
bool is_private_address(const std::string& address);

/// The critical name constraints of a hub called `name`, in OpenSSL's configuration syntax.
std::string name_constraints(const std::string& name);

}  // namespace rackside::sync::tls
