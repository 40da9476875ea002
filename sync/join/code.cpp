#include "sync/join/code.h"

#include <algorithm>
#include <vector>

#include "core/base/error.h"

namespace rackside::sync::join {
namespace {

using core::Error;
using core::Fault;

constexpr std::string_view kAlphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
constexpr std::size_t kCharacters = 44;
constexpr std::size_t kGroup = 4;
constexpr std::size_t kVersionBits = 2;
constexpr std::size_t kPayloadBits = kVersionBits + 8 * (sizeof(Secret) + sizeof(Pin));
constexpr std::size_t kCheckBits = 10;
static_assert(kPayloadBits + kCheckBits == kCharacters * 5);

using Bits = std::vector<bool>;

void append(Bits& bits, std::uint32_t value, std::size_t count) {
  for (std::size_t i = count; i-- > 0;) bits.push_back((value >> i & 1) != 0);
}

std::uint32_t take(const Bits& bits, std::size_t& at, std::size_t count) {
  std::uint32_t out = 0;
  for (std::size_t i = 0; i < count; ++i) out = out << 1 | static_cast<std::uint32_t>(bits[at++]);
  return out;
}

/// The remainder of the payload times x^10. Starts with all ones, so that leading zeros count too.
std::uint32_t crc10(const Bits& bits, std::size_t count) {
  constexpr std::uint32_t kPolynomial = 0x233;
  std::uint32_t sum = 0x3ff;
  for (std::size_t i = 0; i < count; ++i) {
    const std::uint32_t top = (sum >> 9 & 1) ^ static_cast<std::uint32_t>(bits[i]);
    sum = (sum << 1 & 0x3ff) ^ (top != 0 ? kPolynomial : 0);
  }
  return sum;
}

char upper(char c) {
  return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
}

/// What a hand or an eye makes of these characters.
char corrected(char c) {
  c = upper(c);
  if (c == 'O') return '0';
  return c == 'I' || c == 'L' ? '1' : c;
}

std::string cleaned(std::string_view text) {
  if (const std::size_t mark = text.rfind('#'); mark != text.npos) text.remove_prefix(mark + 1);
  std::string out;
  for (const char c : text) {
    if (c == '-' || c == ' ' || c == '\t' || c == '\r' || c == '\n') continue;
    if (kAlphabet.find(corrected(c)) == kAlphabet.npos)
      throw Error(Fault::bad_code, std::string("A join code has no character \"") + c + "\". Look at it again.");
    out += corrected(c);
  }
  return out;
}

Bits to_bits(std::string_view characters) {
  Bits out;
  for (const char c : characters) append(out, static_cast<std::uint32_t>(kAlphabet.find(c)), 5);
  return out;
}

}  // namespace

Pin pin_of(const core::Hash& authority_fingerprint) {
  Pin out{};
  std::copy_n(authority_fingerprint.begin(), out.size(), out.begin());
  return out;
}

std::string to_compact(const JoinCode& code) {
  Bits bits;
  append(bits, 0, kVersionBits);
  for (const std::uint8_t byte : code.secret) append(bits, byte, 8);
  for (const std::uint8_t byte : code.pin) append(bits, byte, 8);
  append(bits, crc10(bits, kPayloadBits), kCheckBits);
  std::string out;
  for (std::size_t at = 0; at < bits.size();) out += kAlphabet[take(bits, at, 5)];
  return out;
}

std::string to_text(const JoinCode& code) {
  const std::string compact = to_compact(code);
  std::string out;
  for (std::size_t i = 0; i < compact.size(); ++i) {
    if (i > 0 && i % kGroup == 0) out += '-';
    out += compact[i];
  }
  return out;
}

std::string join_link(const std::string& hub_url, const JoinCode& code) {
  return hub_url + (hub_url.ends_with('/') ? "join#" : "/join#") + to_compact(code);
}

JoinCode parse_join_code(std::string_view text) {
  const std::string characters = cleaned(text);
  if (characters.size() != kCharacters)
    throw Error(Fault::bad_code, "A join code has 44 characters in eleven groups, this one has " +
                                     std::to_string(characters.size()) + ". Is a group missing?");
  const Bits bits = to_bits(characters);
  std::size_t at = kPayloadBits;
  if (take(bits, at, kCheckBits) != crc10(bits, kPayloadBits))
    throw Error(Fault::bad_code,
                "The join code is mistyped: a character is wrong, or two are swapped. Compare each group.");
  at = 0;
  if (take(bits, at, kVersionBits) != 0)
    throw Error(Fault::bad_code, "The join code comes from a newer program. Update this one, then try again.");
  JoinCode out;
  for (std::uint8_t& byte : out.secret) byte = static_cast<std::uint8_t>(take(bits, at, 8));
  for (std::uint8_t& byte : out.pin) byte = static_cast<std::uint8_t>(take(bits, at, 8));
  return out;
}

}  // namespace rackside::sync::join
