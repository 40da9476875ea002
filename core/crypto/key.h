#pragma once

#include <memory>

#include "core/base/bytes.h"

namespace rackside::core {

/// A P-256 key pair that signs. Copies share the key. Source: FIPS 186-4 (ECDSA), SEC 1 (points).
class KeyPair {
 public:
  static KeyPair generate();
  /// Throws Error(bad_input) when the scalar is zero or not below the group's order.
  static KeyPair from_secret(const SecretKey& secret);

  const PublicKey& public_key() const { return public_key_; }
  SecretKey secret() const;
  /// ECDSA with SHA-256 over the message, as r || s.
  Signature sign(ByteSpan message) const;

 private:
  struct Impl;
  std::shared_ptr<const Impl> impl_;
  PublicKey public_key_{};
};

/// A public key ready to verify many signatures. Construction throws Error(bad_input) when the point is not on the
/// curve.
class Verifier {
 public:
  explicit Verifier(const PublicKey& key);
  bool verify(ByteSpan message, const Signature& signature) const;

 private:
  struct Impl;
  std::shared_ptr<const Impl> impl_;
};

DeviceId device_id_of(const PublicKey& key);

/// Fills from the operating system's random source; throws Error(internal) when there is none. Not for the fold.
void fill_random(std::span<std::uint8_t> out);

template <std::size_t N>
std::array<std::uint8_t, N> random_array() {
  std::array<std::uint8_t, N> out{};
  fill_random(out);
  return out;
}

}  // namespace rackside::core
