#include "cli/register/encoding.h"

#include <algorithm>
#include <array>
#include <cstdint>

#include "core/base/error.h"
#include "core/log/utf8.h"

namespace rackside::cli {
namespace {

using core::Error;
using core::Fault;

// 0x80 to 0x9F of Windows-1252; the rest of it is Latin-1. The five bytes that it does not assign stand for the control
// characters of the same number, as in the Encoding Standard.
constexpr std::array<std::uint16_t, 32> kHigh = {0x20AC, 0x0081, 0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021,
                                                 0x02C6, 0x2030, 0x0160, 0x2039, 0x0152, 0x008D, 0x017D, 0x008F,
                                                 0x0090, 0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2013, 0x2014,
                                                 0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0x009D, 0x017E, 0x0178};

void append(std::string& out, std::uint32_t character) {
  const auto tail = [&](int shift) { out += static_cast<char>(0x80 | ((character >> shift) & 0x3F)); };
  if (character < 0x80) {
    out += static_cast<char>(character);
  } else if (character < 0x800) {
    out += static_cast<char>(0xC0 | (character >> 6));
    tail(0);
  } else if (character < 0x10000) {
    out += static_cast<char>(0xE0 | (character >> 12));
    tail(6);
    tail(0);
  } else {
    out += static_cast<char>(0xF0 | (character >> 18));
    tail(12);
    tail(6);
    tail(0);
  }
}

std::string from_windows(std::string_view bytes) {
  std::string out;
  for (const char c : bytes) {
    const auto byte = static_cast<std::uint8_t>(c);
    append(out, byte >= 0x80 && byte < 0xA0 ? kHigh[byte - 0x80] : byte);
  }
  return out;
}

enum class Order : std::uint8_t { little, big };

std::string from_utf16(std::string_view bytes, Order order) {
  const auto broken = [] {
    return Error(Fault::bad_input,
                 "The table is UTF-16 that is damaged or breaks off. Save it again, best as CSV in UTF-8.");
  };
  if (bytes.size() % 2 != 0) throw broken();
  const auto unit = [&](std::size_t at) {
    const auto first = static_cast<std::uint8_t>(bytes[at]);
    const auto second = static_cast<std::uint8_t>(bytes[at + 1]);
    return static_cast<std::uint32_t>(order == Order::little ? first | (second << 8) : (first << 8) | second);
  };
  std::string out;
  for (std::size_t at = 0; at < bytes.size(); at += 2) {
    const std::uint32_t high = unit(at);
    if (high < 0xD800 || high > 0xDFFF) {
      append(out, high);
      continue;
    }
    at += 2;
    if (high > 0xDBFF || at >= bytes.size() || unit(at) < 0xDC00 || unit(at) > 0xDFFF) throw broken();
    append(out, 0x10000 + ((high - 0xD800) << 10) + (unit(at) - 0xDC00));
  }
  return out;
}

bool is_utf8(std::string_view bytes) {
  for (std::size_t at = 0; at < bytes.size();) {
    const core::Utf8Step step = core::utf8_step(bytes, at);
    if (step.kind != core::Utf8Kind::good) return false;
    at += step.length;
  }
  return true;
}

/// Whether more than two in three of the bytes at even (or odd) places are zero: Latin text in UTF-16 without a mark.
bool mostly_zero(std::string_view bytes, std::size_t from) {
  std::size_t zeros = 0;
  for (std::size_t at = from; at < bytes.size(); at += 2) zeros += bytes[at] == '\0';
  return bytes.size() >= 4 && zeros * 3 > bytes.size();
}

}  // namespace

PlainText to_utf8(std::string_view bytes) {
  if (bytes.starts_with("\xEF\xBB\xBF")) return to_utf8(bytes.substr(3));
  if (bytes.starts_with("\xFF\xFE")) return {from_utf16(bytes.substr(2), Order::little), "UTF-16"};
  if (bytes.starts_with("\xFE\xFF")) return {from_utf16(bytes.substr(2), Order::big), "UTF-16"};
  if (mostly_zero(bytes, 1)) return {from_utf16(bytes, Order::little), "UTF-16"};
  if (mostly_zero(bytes, 0)) return {from_utf16(bytes, Order::big), "UTF-16"};
  if (is_utf8(bytes)) return {std::string(bytes), "UTF-8"};
  return {from_windows(bytes), "Windows-1252"};
}

}  // namespace rackside::cli
