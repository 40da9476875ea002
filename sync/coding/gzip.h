#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

namespace rackside::sync::coding {

// The gzip coding of a body: RFC 1952 around RFC 1951. The only use of zlib.

/// How much larger than what came over the wire a reader lets a body become: kMostInflation times as much, and
/// kFreeInflation on top for a short one. Deflate itself goes to about 1030. A writer keeps to a quarter of that, so
/// nothing that can be written is refused.
constexpr std::size_t kMostInflation = 200;
constexpr std::size_t kFreeInflation = 256 * 1024;

/// Writes one gzip member, piece by piece; memory stays flat. Thread: one.
class GzipWriter {
 public:
  GzipWriter();
  ~GzipWriter();
  GzipWriter(const GzipWriter&) = delete;
  GzipWriter& operator=(const GzipWriter&) = delete;

  /// Appends to `out` what is ready to be sent; the rest waits for more.
  void take(std::string_view piece, std::string& out);
  /// Appends the end. Nothing may follow.
  void finish(std::string& out);

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

/// Reads one gzip member, piece by piece, of a sender that may be hostile. Thread: one.
/// Errors: protocol (no gzip, a wrong checksum, something behind its end, no end), too_large (more than `most` bytes,
/// or more than kMostInflation allows: what would fill memory or time for nothing).
class GzipReader {
 public:
  using OnPiece = std::function<void(std::string_view)>;
  explicit GzipReader(std::size_t most = static_cast<std::size_t>(-1));
  ~GzipReader();
  GzipReader(const GzipReader&) = delete;
  GzipReader& operator=(const GzipReader&) = delete;

  /// Hands over what can be read already, in pieces of at most 32 KiB.
  void take(std::string_view piece, const OnPiece& on_piece);
  /// The whole body has come.
  void finish() const;

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

std::string gzip(std::string_view text);
/// Errors: as GzipReader.
std::string gunzip(std::string_view bytes, std::size_t most);

/// Whether a list such as "br;q=1.0, gzip" (Accept-Encoding: RFC 9110, section 12.5.3) takes gzip. Pure.
bool takes_gzip(std::string_view accept_encoding);

}  // namespace rackside::sync::coding
