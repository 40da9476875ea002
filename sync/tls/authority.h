#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/bytes.h"

namespace rackside::sync::tls {

/// A hub's own certificate authority and its leaf, all as PEM. ECDSA P-256 and SHA-256 throughout.
///  - The root signs one intermediate at creation; its key is then forgotten and exists nowhere.
///  - The intermediate (pathlen 0, serverAuth only) stays with its key and signs leaves.
///  - Root and intermediate both carry critical name constraints: the hub's name, `localhost`, and the private and
///    loopback address ranges. Whoever steals the hub's keys can therefore not pose as any other site, even to phones
///    that trust the authority. (A DNS constraint also covers names below the hub's own: RFC 5280 knows no other form.)
///  - Leaves live 397 days, the longest that Apple's systems accept (support article 103769).
/// Holds private keys: store it in a file of mode 0600.
struct HubIdentity {
  std::string name;  ///< the hub's DNS name, lower case
  std::string root;
  std::string intermediate;
  std::string intermediate_key;
  std::string leaf;
  std::string leaf_key;

  /// What a connection shows: leaf, intermediate, root. The root is shown too, so that a laptop that only knows its
  /// fingerprint can learn and pin it.
  std::string chain() const { return leaf + intermediate + root; }
};

inline constexpr std::int64_t kDayMs = 86'400'000;
inline constexpr int kLeafDays = 397;
inline constexpr int kRenewBelowDays = 30;
/// Certificates start this long before they are made, for phones whose clock is behind.
inline constexpr int kBackdatedDays = 2;

/// A name of its own for a hub whose keeper gives none: "rack-" and eight characters, under `.local`.
/// Takes the first 5 bytes of `random` (at least 5).
std::string random_hub_name(std::span<const std::uint8_t> random);

/// Makes root, intermediate and a first leaf.
/// Shape:  `name` is a DNS name of at least two labels; `addresses` are numeric, the machine's own, put into the leaf.
///         Those outside the private ranges are left out: one of them would make the whole leaf invalid.
/// Units:  `now_ms` is ms since 1970-01-01 UTC.
/// Errors: bad_input (the name is none).
HubIdentity create_identity(const std::string& name, const std::vector<std::string>& addresses, std::int64_t now_ms);

enum class Renewal { not_needed, done };

/// Makes a new leaf (and leaf key) when under 30 days are left, when it is not valid yet (the clock was wrong when it
/// was made), or when it lacks one of the addresses. The caller stores the identity again when it answers done.
Renewal renew_leaf(HubIdentity& identity, const std::vector<std::string>& addresses, std::int64_t now_ms);

/// Always makes a new leaf for exactly these names and addresses, the hub's name first. No name is left out here: a
/// caller that asks for one outside the constraints gets a leaf that every verifier turns down.
void issue_leaf(HubIdentity& identity, const std::vector<std::string>& names, const std::vector<std::string>& addresses,
                std::int64_t now_ms);

/// One text that holds it all, and back. Errors of reading: bad_input (says which part is missing or does not fit).
std::string to_text(const HubIdentity& identity);
HubIdentity identity_from_text(std::string_view text);

/// SHA-256 over the DER bytes of the first certificate in the PEM: what phones show as the SHA-256 of the authority.
/// Errors: bad_input.
core::Hash fingerprint(std::string_view pem);

/// "3F9A 01C2 …": upper case, groups of four, as the screen and the printed sheet show it.
std::string grouped_fingerprint(const core::Hash& fingerprint);

/// The certificate as DER, as phones want it for installing (application/x-x509-ca-cert). Errors: bad_input.
std::string to_der(std::string_view pem);

/// End of validity of the first certificate in the PEM, in ms since 1970-01-01 UTC. Errors: bad_input.
std::int64_t expires_at_ms(std::string_view pem);

enum class Verdict { trusted, untrusted };

struct Verification {
  Verdict verdict = Verdict::untrusted;
  std::string reason;  ///< OpenSSL's words, empty when trusted
};

/// Runs OpenSSL's own verifier over a leaf, as a server's certificate, with `root` as the only thing trusted.
Verification verify_chain(std::string_view root, std::string_view intermediate, std::string_view leaf,
                          std::int64_t now_ms);

}  // namespace rackside::sync::tls
