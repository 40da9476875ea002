#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace rackside::labels {

enum class CorrectionLevel { low, medium, quartile, high };

/// The letter that the standard gives a level: L, M, Q, H.
char letter_of(CorrectionLevel level);

/// White modules that a symbol needs on every side. Source: ISO/IEC 18004, quiet zone.
inline constexpr int kQuietModules = 4;

/// A QR symbol as a square of modules, without its quiet zone.
struct Symbol {
  int version = 0;  ///< 1..40
  CorrectionLevel level = CorrectionLevel::medium;
  int size = 0;                       ///< modules a side: 17 + 4 × version
  std::vector<std::uint8_t> modules;  ///< size × size, row by row, 1 is dark
  std::vector<std::uint8_t> payload;  ///< likewise, 1 carries data or correction: no finder, timing, format …

  bool dark(int column, int row) const { return modules[static_cast<std::size_t>(row * size + column)] != 0; }
  bool carries_data(int column, int row) const { return payload[static_cast<std::size_t>(row * size + column)] != 0; }
  int size_with_quiet() const { return size + 2 * kQuietModules; }
};

/// For each module the number of its codeword, in the order in which they are placed; -1 for those that carry none.
/// Source: ISO/IEC 18004, placement of codewords: pairs of columns from the right, upwards and downwards in turn,
/// leaving out the column of the timing pattern.
std::vector<int> codeword_map(const Symbol& symbol);

/// The smallest symbol that holds `text` at level M, then the highest level that this size still holds. Ten
/// alphanumeric characters so give version 1 at level H. Digits only are coded in numeric mode, the 45 characters of
/// the standard in alphanumeric mode, all else as bytes.
/// Shape:  1..2331 bytes, no NUL needed.
/// Errors: bad_input for an empty text or one that no symbol of level M holds.
Symbol make_symbol(std::string_view text);

/// The smallest symbol that holds `text` at just this level: for checking against the standard's examples.
/// Errors: bad_input as above.
Symbol make_symbol_at(std::string_view text, CorrectionLevel level);

/// `HTTPS://HOST/CODE` in upper case, so that it stays in alphanumeric mode. `host` is a host name, or one with a
/// port.
/// Errors: bad_input when the host holds a character that a link's host cannot.
std::string link_text(std::string_view host, std::string_view code);

}  // namespace rackside::labels
