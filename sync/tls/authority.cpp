#include "sync/tls/authority.h"

#include <algorithm>
#include <array>

#include "core/base/error.h"
#include "sync/net/socket.h"
#include "sync/tls/certificate.h"
#include "sync/tls/names.h"
#include "sync/tls/openssl.h"

namespace rackside::sync::tls {
namespace {

using core::Error;
using core::Fault;

constexpr int kAuthorityDays = 20 * 365;

CertPtr need_certificate(std::string_view pem, std::string_view what) {
  CertPtr out = certificate_from_pem(pem);
  if (!out)
    throw Error(Fault::bad_input, "The " + std::string(what) + " is damaged. Restore the hub's keys from a backup.");
  return out;
}

KeyPtr need_key(std::string_view pem, std::string_view what) {
  KeyPtr out = key_from_pem(pem);
  if (!out)
    throw Error(Fault::bad_input, "The " + std::string(what) + " is damaged. Restore the hub's keys from a backup.");
  return out;
}

Period period(std::int64_t now_ms, int days) {
  const std::int64_t start = now_ms - kBackdatedDays * kDayMs;
  // One second short, because both ends count as valid.
  return {start, start + days * kDayMs - 1000};
}

std::vector<std::string> usual_names(const HubIdentity& identity) {
  return {identity.name, "localhost"};
}

std::vector<std::string> usual_addresses(const std::vector<std::string>& own) {
  std::vector<std::string> out = {"127.0.0.1", "::1"};
  for (const std::string& address : own)
    if (is_private_address(address) && std::find(out.begin(), out.end(), address) == out.end()) out.push_back(address);
  return out;
}

bool needs_renewal(X509* leaf, const std::vector<std::string>& addresses, std::int64_t now_ms) {
  const Period valid = period_of(leaf);
  if (now_ms < valid.from_ms || valid.until_ms - now_ms < kRenewBelowDays * kDayMs) return true;
  return std::any_of(addresses.begin(), addresses.end(),
                     [&](const std::string& address) { return X509_check_ip_asc(leaf, address.c_str(), 0) != 1; });
}

/// The text of one PEM block, and where the search goes on.
std::string next_block(std::string_view text, std::size_t& at, std::string_view label) {
  const std::string begin = "-----BEGIN " + std::string(label) + "-----";
  const std::string end = "-----END " + std::string(label) + "-----";
  const std::size_t from = text.find(begin, at);
  const std::size_t to = from == text.npos ? text.npos : text.find(end, from);
  if (to == text.npos) throw Error(Fault::bad_input, "The hub's key file is cut short. Restore it from a backup.");
  at = to + end.size();
  return std::string(text.substr(from, at - from)) + "\n";
}

void require_match(const std::string& certificate, const std::string& key, std::string_view what) {
  if (X509_check_private_key(need_certificate(certificate, what).get(), need_key(key, what).get()) != 1)
    throw Error(Fault::bad_input, "The " + std::string(what) +
                                      " of the hub's key file do not belong together. "
                                      "Restore the file from a backup.");
}

constexpr std::string_view kHeading = "Rackside hub identity 1: ";

}  // namespace

std::string random_hub_name(std::span<const std::uint8_t> random) {
  // 32 characters without i, l, o, u: the alphabet of the labels, read aloud without doubt.
  constexpr std::string_view kAlphabet = "0123456789abcdefghjkmnpqrstvwxyz";
  std::uint64_t bits = 0;
  for (const std::uint8_t byte : random.first(5)) bits = bits << 8 | byte;
  std::string out = "rack-";
  for (int shift = 35; shift >= 0; shift -= 5) out += kAlphabet[bits >> shift & 31];
  return out + ".local";
}

HubIdentity create_identity(const std::string& name, const std::vector<std::string>& addresses, std::int64_t now_ms) {
  if (!is_hub_name(name))
    throw Error(Fault::bad_input, "\"" + name +
                                      "\" cannot be a hub's name. Use lower-case letters, digits and hyphens "
                                      "with a dot, such as snakes.local.");
  HubIdentity out;
  out.name = name;
  const KeyPtr root_key = generate_key();  // ends with this function: nobody can sign with it again
  const KeyPtr intermediate_key = generate_key();
  const Period valid = period(now_ms, kAuthorityDays);
  const CertPtr root = make_root(name, root_key.get(), valid);
  const CertPtr intermediate = make_intermediate(name, root.get(), root_key.get(), intermediate_key.get(), valid);
  out.root = to_pem(root.get());
  out.intermediate = to_pem(intermediate.get());
  out.intermediate_key = to_pem(intermediate_key.get());
  issue_leaf(out, usual_names(out), usual_addresses(addresses), now_ms);
  return out;
}

Renewal renew_leaf(HubIdentity& identity, const std::vector<std::string>& addresses, std::int64_t now_ms) {
  const CertPtr leaf = need_certificate(identity.leaf, "hub's certificate");
  const std::vector<std::string> wanted = usual_addresses(addresses);
  if (!needs_renewal(leaf.get(), wanted, now_ms)) return Renewal::not_needed;
  issue_leaf(identity, usual_names(identity), wanted, now_ms);
  return Renewal::done;
}

void issue_leaf(HubIdentity& identity, const std::vector<std::string>& names, const std::vector<std::string>& addresses,
                std::int64_t now_ms) {
  const CertPtr issuer = need_certificate(identity.intermediate, "hub's authority");
  const KeyPtr issuer_key = need_key(identity.intermediate_key, "key of the hub's authority");
  const KeyPtr key = generate_key();
  const LeafNames subject{names, addresses};
  const CertPtr leaf = make_leaf(subject, issuer.get(), issuer_key.get(), key.get(), period(now_ms, kLeafDays));
  identity.leaf = to_pem(leaf.get());
  identity.leaf_key = to_pem(key.get());
}

std::string to_text(const HubIdentity& identity) {
  return std::string(kHeading) + identity.name + "\n" + identity.root + identity.intermediate +
         identity.intermediate_key + identity.leaf + identity.leaf_key;
}

HubIdentity identity_from_text(std::string_view text) {
  const std::size_t end = text.find('\n');
  if (!text.starts_with(kHeading) || end == text.npos)
    throw Error(Fault::bad_input,
                "This is not a hub's key file. Restore it from a backup, or let the hub make a new one.");
  HubIdentity out;
  out.name = text.substr(kHeading.size(), end - kHeading.size());
  std::size_t at = end;
  out.root = next_block(text, at, "CERTIFICATE");
  out.intermediate = next_block(text, at, "CERTIFICATE");
  out.intermediate_key = next_block(text, at, "PRIVATE KEY");
  out.leaf = next_block(text, at, "CERTIFICATE");
  out.leaf_key = next_block(text, at, "PRIVATE KEY");
  need_certificate(out.root, "hub's authority");
  require_match(out.intermediate, out.intermediate_key, "authority and key");
  require_match(out.leaf, out.leaf_key, "certificate and key");
  if (!is_hub_name(out.name) || X509_check_host(need_certificate(out.leaf, "hub's certificate").get(), out.name.c_str(),
                                                out.name.size(), 0, nullptr) != 1)
    throw Error(Fault::bad_input, "The hub's key file belongs to another name than it says. Restore it from a backup.");
  return out;
}

core::Hash fingerprint(std::string_view pem) {
  const CertPtr certificate = need_certificate(pem, "hub's authority");
  return fingerprint_of(certificate.get());
}

std::string grouped_fingerprint(const core::Hash& fingerprint) {
  constexpr std::string_view kDigits = "0123456789ABCDEF";
  std::string out;
  for (std::size_t i = 0; i < fingerprint.size(); ++i) {
    if (i > 0 && i % 2 == 0) out += ' ';
    out += kDigits[fingerprint[i] >> 4];
    out += kDigits[fingerprint[i] & 15];
  }
  return out;
}

std::string to_der(std::string_view pem) {
  const std::vector<std::uint8_t> bytes = der_of(need_certificate(pem, "hub's authority").get());
  return {bytes.begin(), bytes.end()};
}

std::int64_t expires_at_ms(std::string_view pem) {
  return period_of(need_certificate(pem, "hub's certificate").get()).until_ms;
}

Verification verify_chain(std::string_view root, std::string_view intermediate, std::string_view leaf,
                          std::int64_t now_ms) {
  const CertPtr anchor = need_certificate(root, "hub's authority");
  const CertPtr middle = need_certificate(intermediate, "hub's authority");
  const CertPtr end = need_certificate(leaf, "hub's certificate");
  const std::string reason = why_untrusted(anchor.get(), {middle.get()}, end.get(), now_ms);
  return {reason.empty() ? Verdict::trusted : Verdict::untrusted, reason};
}

}  // namespace rackside::sync::tls
