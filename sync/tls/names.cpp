#include "sync/tls/names.h"

#include <arpa/inet.h>

#include <algorithm>
#include <array>
#include <cstdint>

namespace rackside::sync::tls {
namespace {

/// The one list of ranges: certificates are constrained to it and addresses are compared with it.
struct Range {
  int family;
  const char* network;
  const char* mask;
};

constexpr std::array<Range, 8> kRanges = {{
    {AF_INET, "10.0.0.0", "255.0.0.0"},
    {AF_INET, "172.16.0.0", "255.240.0.0"},
    {AF_INET, "192.168.0.0", "255.255.0.0"},
    {AF_INET, "127.0.0.0", "255.0.0.0"},
    {AF_INET, "169.254.0.0", "255.255.0.0"},
    {AF_INET6, "fc00::", "fe00::"},
    {AF_INET6, "fe80::", "ffc0::"},
    {AF_INET6, "::1", "ffff:ffff:ffff:ffff:ffff:ffff:ffff:ffff"},
}};

using Bytes = std::array<std::uint8_t, 16>;

bool inside(const Range& range, const Bytes& address) {
  Bytes network{}, mask{};
  inet_pton(range.family, range.network, network.data());
  inet_pton(range.family, range.mask, mask.data());
  for (std::size_t i = 0; i < address.size(); ++i)
    if ((address[i] & mask[i]) != network[i]) return false;
  return true;
}

bool is_label(std::string_view label) {
  if (label.empty() || label.size() > 63 || label.front() == '-' || label.back() == '-') return false;
  return std::all_of(label.begin(), label.end(),
                     [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-'; });
}

bool is_number(std::string_view label) {
  return std::all_of(label.begin(), label.end(), [](char c) { return c >= '0' && c <= '9'; });
}

}  // namespace

bool is_hub_name(std::string_view name) {
  if (name.size() > 253 || name.find('.') == name.npos) return false;
  for (;;) {
    const std::size_t dot = name.find('.');
    const std::string_view label = name.substr(0, dot);
    if (!is_label(label)) return false;
    if (dot == name.npos) return !is_number(label);
    name.remove_prefix(dot + 1);
  }
}

bool is_private_address(const std::string& address) {
  Bytes bytes{};
  int family = AF_INET;
  if (inet_pton(AF_INET, address.c_str(), bytes.data()) != 1) {
    family = AF_INET6;
    if (inet_pton(AF_INET6, address.c_str(), bytes.data()) != 1) return false;
  }
  return std::any_of(kRanges.begin(), kRanges.end(),
                     [&](const Range& range) { return range.family == family && inside(range, bytes); });
}

std::string name_constraints(const std::string& name) {
  std::string out = "critical,permitted;DNS:" + name + ",permitted;DNS:localhost";
  for (const Range& range : kRanges) out += std::string(",permitted;IP:") + range.network + "/" + range.mask;
  return out;
}

}  // namespace rackside::sync::tls
