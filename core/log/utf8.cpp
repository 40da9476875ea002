#include "core/log/utf8.h"

namespace rackside::core {
namespace {

struct Lead {
  std::size_t length;  ///< 0: no character begins so
  std::uint8_t low;    ///< bounds of the second byte: they exclude overlong forms and what lies over U+10FFFF
  std::uint8_t high;
};

constexpr Lead lead_of(std::uint8_t byte) {
  if (byte < 0x80) return {1, 0, 0};
  if (byte < 0xC2) return {0, 0, 0};
  if (byte < 0xE0) return {2, 0x80, 0xBF};
  if (byte == 0xE0) return {3, 0xA0, 0xBF};
  if (byte < 0xF0) return {3, 0x80, 0xBF};
  if (byte == 0xF0) return {4, 0x90, 0xBF};
  if (byte < 0xF4) return {4, 0x80, 0xBF};
  if (byte == 0xF4) return {4, 0x80, 0x8F};
  return {0, 0, 0};
}

bool is_continuation(std::uint8_t byte) {
  return (byte & 0xC0) == 0x80;
}

}  // namespace

Utf8Step utf8_step(std::string_view text, std::size_t at) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint8_t>(text[at + i]); };
  const std::size_t left = text.size() - at;
  const Lead lead = lead_of(byte(0));
  if (lead.length == 1) return {};
  if (lead.length == 0 || left < 2 || byte(1) < lead.low || byte(1) > lead.high) return {Utf8Kind::invalid, 1};
  for (std::size_t i = 2; i < lead.length; ++i)
    if (i >= left || !is_continuation(byte(i))) return {Utf8Kind::invalid, i};
  const bool surrogate = byte(0) == 0xED && byte(1) >= 0xA0;
  if (surrogate) return {Utf8Kind::surrogate, 1};
  return {Utf8Kind::good, lead.length};
}

}  // namespace rackside::core
