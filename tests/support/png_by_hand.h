#pragma once

#include <algorithm>
#include <cstdint>
#include <string>
#include <string_view>

namespace rackside::tests {

// PNG files written without a library, so that they can be odd or hostile.
// Source: the PNG specification (ISO/IEC 15948), RFC 1950 (zlib) and RFC 1951 (deflate).

inline std::string big_endian(std::uint32_t value) {
  std::string out;
  for (int shift = 24; shift >= 0; shift -= 8) out += static_cast<char>(value >> shift);
  return out;
}

inline std::uint32_t crc32_of(std::string_view bytes) {
  std::uint32_t crc = 0xffffffffU;
  for (const char c : bytes) {
    crc ^= static_cast<std::uint8_t>(c);
    for (int bit = 0; bit < 8; ++bit) crc = (crc >> 1) ^ (crc & 1 ? 0xedb88320U : 0);
  }
  return ~crc;
}

inline std::string png_chunk(const std::string& type, const std::string& content) {
  return big_endian(static_cast<std::uint32_t>(content.size())) + type + content + big_endian(crc32_of(type + content));
}

/// A zlib stream that holds the bytes as they are.
inline std::string zlib_stored(const std::string& bytes) {
  std::string out = "\x78\x01";
  std::uint32_t a = 1;
  std::uint32_t b = 0;
  for (const char c : bytes) {
    a = (a + static_cast<std::uint8_t>(c)) % 65521;
    b = (b + a) % 65521;
  }
  std::size_t at = 0;
  do {
    const std::size_t count = std::min<std::size_t>(bytes.size() - at, 65535);
    const auto size = static_cast<std::uint16_t>(count);
    out += at + count == bytes.size() ? '\1' : '\0';
    for (const unsigned half : {static_cast<unsigned>(size), static_cast<unsigned>(size) ^ 0xffffU}) {
      out += static_cast<char>(half & 255U);
      out += static_cast<char>(half >> 8);
    }
    out += bytes.substr(at, count);
    at += count;
  } while (at < bytes.size());
  return out + big_endian(b << 16 | a);
}

/// A zlib stream of 1 + 258 × `runs` zeros in a thousandth of their size: what bombs are made of.
inline std::string zlib_zeros(std::size_t runs) {
  std::string out = "\x78\x01";
  unsigned pending = 0;
  int count = 0;
  const auto bit = [&](unsigned value) {
    pending |= value << count;
    if (++count < 8) return;
    out += static_cast<char>(pending);
    pending = 0;
    count = 0;
  };
  // Codes go in from their highest bit, all else from the lowest.
  const auto code = [&](unsigned value, int length) {
    for (int i = length - 1; i >= 0; --i) bit(value >> i & 1U);
  };
  bit(1);  // the last block
  bit(1);  // fixed codes
  bit(0);
  code(0x30, 8);  // a zero
  for (std::size_t i = 0; i < runs; ++i) {
    code(0xc5, 8);  // 258 bytes
    code(0, 5);     // from one back
  }
  code(0, 7);  // the end
  while (count != 0) bit(0);
  // The zeros leave the first sum at 1, and add it to the second each.
  const auto zeros = static_cast<std::uint32_t>((1 + 258 * runs) % 65521);
  return out + big_endian(zeros << 16 | 1U);
}

/// `colour`: 0 grey, 2 red green blue, 3 palette. `rows`: each begins with its filter's number.
inline std::string png_file(std::uint32_t width, std::uint32_t height, int depth, int colour, const std::string& idat,
                            const std::string& between = {}) {
  std::string header = big_endian(width) + big_endian(height);
  header += static_cast<char>(depth);
  header += static_cast<char>(colour);
  header += std::string(3, '\0');
  return "\x89PNG\r\n\x1a\n" + png_chunk("IHDR", header) + between + png_chunk("IDAT", idat) + png_chunk("IEND", "");
}

}  // namespace rackside::tests
