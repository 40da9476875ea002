#pragma once

// Internal to sync/tls: making and reading X.509 certificates. Source: RFC 5280.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/base/bytes.h"
#include "sync/tls/openssl.h"

namespace rackside::sync::tls {

struct Period {
  std::int64_t from_ms = 0;
  std::int64_t until_ms = 0;
};

struct LeafNames {
  std::vector<std::string> names;      ///< DNS names; the first is also the subject's common name
  std::vector<std::string> addresses;  ///< numeric
};

KeyPtr generate_key();  ///< P-256
CertPtr make_root(const std::string& hub, EVP_PKEY* key, Period valid);
CertPtr make_intermediate(const std::string& hub, X509* root, EVP_PKEY* root_key, EVP_PKEY* key, Period valid);
CertPtr make_leaf(const LeafNames& subject, X509* issuer, EVP_PKEY* issuer_key, EVP_PKEY* key, Period valid);

Period period_of(X509* certificate);
core::Hash fingerprint_of(X509* certificate);

/// OpenSSL's verifier with `anchor` as the only trusted certificate and the purpose of a TLS server; empty when it is
/// satisfied, else its reason. Without `now_ms`, periods of validity are not looked at.
std::string why_untrusted(X509* anchor, const std::vector<X509*>& others, X509* leaf,
                          std::optional<std::int64_t> now_ms);

}  // namespace rackside::sync::tls
