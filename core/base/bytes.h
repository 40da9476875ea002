#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace rackside::core {

using Hash = std::array<std::uint8_t, 32>;          ///< a SHA-256
using ShortHash = std::array<std::uint8_t, 16>;     ///< its first 16 bytes, as references carry it
using DeviceId = std::array<std::uint8_t, 8>;       ///< first 8 bytes of the SHA-256 of a device's public key
using CollectionId = std::array<std::uint8_t, 16>;  ///< names one keeper's collection for ever
using PublicKey = std::array<std::uint8_t, 65>;     ///< P-256, uncompressed point
using SecretKey = std::array<std::uint8_t, 32>;     ///< P-256 scalar, big-endian
using Signature = std::array<std::uint8_t, 64>;     ///< r || s, big-endian

using ByteSpan = std::span<const std::uint8_t>;

inline ByteSpan as_bytes(std::string_view text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

/// Lower-case hexadecimal.
std::string to_hex(ByteSpan bytes);

/// Fills `out` from exactly 2·N lower- or upper-case hex digits; false when the text is anything else.
bool from_hex(std::string_view text, std::span<std::uint8_t> out);

template <std::size_t N>
std::optional<std::array<std::uint8_t, N>> array_from_hex(std::string_view text) {
  std::array<std::uint8_t, N> out{};
  if (!from_hex(text, out)) return std::nullopt;
  return out;
}

inline ShortHash shorten(const Hash& hash) {
  ShortHash out{};
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = hash[i];
  return out;
}

}  // namespace rackside::core
