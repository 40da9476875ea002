#include "sync/hub/keys.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>
#include <sys/stat.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "core/base/error.h"
#include "core/crypto/key.h"
#include "sync/files/whole_file.h"
#include "sync/net/socket.h"
#include "sync/tls/names.h"

namespace rackside::sync::hub {

using core::Error;
using core::Fault;

namespace {

void store(const tls::HubIdentity& identity, const std::string& book_path) {
  WholeFile file(keys_path(book_path));
  file.write(tls::to_text(identity));
  file.keep();
}

tls::HubIdentity read(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  if (!file) throw Error(Fault::bad_input, "The hub's key file " + path + " cannot be read. Is it yours?");
  ::chmod(path.c_str(), 0600);  // a copy may have been made with other rights
  return tls::identity_from_text(text.str());
}

std::string numeric(const sockaddr* address) {
  char text[INET6_ADDRSTRLEN] = "";
  if (address->sa_family == AF_INET) {
    ::inet_ntop(AF_INET, &reinterpret_cast<const sockaddr_in*>(address)->sin_addr, text, sizeof text);
  } else if (address->sa_family == AF_INET6) {
    const in6_addr& six = reinterpret_cast<const sockaddr_in6*>(address)->sin6_addr;
    if (!IN6_IS_ADDR_LINKLOCAL(&six)) ::inet_ntop(AF_INET6, &six, text, sizeof text);
  }
  return text;
}

/// The order in which people are shown addresses.
int rank(const std::string& address) {
  const bool is_six = address.find(':') != std::string::npos;
  if (net::is_loopback(address)) return is_six ? 5 : 4;
  return (tls::is_private_address(address) ? 0 : 2) + (is_six ? 1 : 0);
}

}  // namespace

std::string keys_path(const std::string& book_path) {
  return book_path + "-hub.keys";
}

tls::HubIdentity open_identity(const std::string& book_path, const std::string& name,
                               const std::vector<std::string>& addresses, std::int64_t now_ms) {
  const std::string path = keys_path(book_path);
  if (!std::filesystem::exists(path)) {
    const std::string chosen = name.empty() ? tls::random_hub_name(core::random_array<5>()) : name;
    tls::HubIdentity identity = tls::create_identity(chosen, addresses, now_ms);
    store(identity, book_path);
    return identity;
  }
  tls::HubIdentity identity = read(path);
  if (!name.empty() && name != identity.name) {
    throw Error(Fault::usage, "This hub's name is " + identity.name +
                                  " for good: the phones that joined it are bound to it. Leave --name out.");
  }
  renew(identity, book_path, addresses, now_ms);
  return identity;
}

tls::Renewal renew(tls::HubIdentity& identity, const std::string& book_path, const std::vector<std::string>& addresses,
                   std::int64_t now_ms) {
  const tls::Renewal done = tls::renew_leaf(identity, addresses, now_ms);
  if (done == tls::Renewal::done) store(identity, book_path);
  return done;
}

std::vector<std::string> machine_addresses() {
  std::vector<std::string> out;
  ifaddrs* all = nullptr;
  if (::getifaddrs(&all) != 0) return out;
  for (const ifaddrs* one = all; one != nullptr; one = one->ifa_next) {
    if (one->ifa_addr == nullptr || (one->ifa_flags & IFF_UP) == 0) continue;
    const std::string text = numeric(one->ifa_addr);
    if (!text.empty()) out.push_back(text);
  }
  ::freeifaddrs(all);
  std::stable_sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return rank(a) < rank(b); });
  return out;
}

}  // namespace rackside::sync::hub
