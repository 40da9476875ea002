#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

#include "core/base/bytes.h"

namespace rackside::sync::join {

using Secret = std::array<std::uint8_t, 16>;  ///< 128 bits, good for one joining
using Pin = std::array<std::uint8_t, 10>;     ///< first 80 bits of the SHA-256 of the hub's authority (DER)

/// What a person carries from the hub's screen to a new device: whom to trust, and the right to join.
struct JoinCode {
  Secret secret{};
  Pin pin{};
  bool operator==(const JoinCode&) const = default;
};

Pin pin_of(const core::Hash& authority_fingerprint);

/// 44 characters in eleven groups of four, "0K3F-…": made to be typed. The 32 characters are those of the labels (no I,
/// L, O, U). 220 bits: two of version (0), 128 of secret, 80 of pin, ten of check: a CRC-10 (x^10+x^9+x^5+x^4+x+1),
/// which finds every error within ten neighbouring bits, so every single wrong character, and every two neighbouring
/// characters that are swapped.
std::string to_text(const JoinCode& code);

/// The same without hyphens, for a QR symbol or the fragment of an address: letters and digits only.
std::string to_compact(const JoinCode& code);

/// The address that a phone's QR symbol holds. The code stands in the fragment, which browsers keep to themselves.
std::string join_link(const std::string& hub_url, const JoinCode& code);

/// Reads either form, or a whole join_link. Lower case, spaces, O for 0, I and L for 1 are understood.
/// Errors: bad_code (too short or long, a character that no code has, a mistyped one, a code of a later version).
JoinCode parse_join_code(std::string_view text);

}  // namespace rackside::sync::join
