#pragma once

#include <string>
#include <string_view>

namespace rackside::cli {

/// A text file's contents as UTF-8 without a byte-order mark, and what it was written in.
struct PlainText {
  std::string text;
  std::string_view encoding;  ///< "UTF-8", "UTF-16", "Windows-1252"
};

/// Finds out a file's encoding: a byte-order mark says it (UTF-8, UTF-16 in either order); else zero bytes at every
/// other place mean UTF-16; else what is UTF-8 throughout is UTF-8; else it is Windows-1252, of which Latin-1's
/// printable characters are a part. Pure. Source: the WHATWG Encoding Standard for the marks and for Windows-1252.
/// Errors: bad_input for UTF-16 that breaks off or holds half a pair.
PlainText to_utf8(std::string_view bytes);

}  // namespace rackside::cli
