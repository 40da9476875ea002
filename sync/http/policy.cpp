#include "sync/http/policy.h"

#include <algorithm>
#include <cctype>

#include "sync/net/socket.h"

namespace rackside::sync::http {
namespace {

std::string lower(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(), [](unsigned char c) { return std::tolower(c); });
  return out;
}

/// "name:443" and "[fd00::1]:443" without the port and the brackets.
std::string without_port(std::string_view host) {
  if (host.starts_with('[')) return std::string(host.substr(1, std::min(host.find(']'), host.size()) - 1));
  return std::string(host.substr(0, host.find(':')));
}

bool changes_something(std::string_view method) {
  return method != "GET" && method != "HEAD";
}

Refusal foreign_page() {
  return {403, "not-allowed", "This request comes from a page that is not the hub's own."};
}

}  // namespace

std::optional<Refusal> check_host(const Head& head, const std::vector<std::string>& names,
                                  const std::string& local_ip) {
  const std::string host = lower(without_port(head.field("host").value_or("")));
  if (host == local_ip || std::find(names.begin(), names.end(), host) != names.end()) return std::nullopt;
  return Refusal{421, "other-hub", "This hub has another name. Open the address that its screen shows."};
}

std::optional<Refusal> check_origin(const Head& head, Scheme scheme) {
  if (!changes_something(head.method)) return std::nullopt;
  if (const auto site = head.field("sec-fetch-site"); site && *site != "same-origin") return foreign_page();
  const auto origin = head.field("origin");
  const std::string own = (scheme == Scheme::https ? "https://" : "http://") + lower(head.field("host").value_or(""));
  if (origin && lower(*origin) != own) return foreign_page();
  return std::nullopt;
}

std::vector<Field> security_fields(const std::string& content_security_policy) {
  return {{"X-Content-Type-Options", "nosniff"},
          {"X-Frame-Options", "DENY"},
          {"Content-Security-Policy", content_security_policy},
          {"Referrer-Policy", "no-referrer"},
          {"Cross-Origin-Resource-Policy", "same-origin"},
          {"Cross-Origin-Opener-Policy", "same-origin"}};
}

}  // namespace rackside::sync::http
