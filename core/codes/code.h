#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/bytes.h"

namespace rackside::core {

/// What a code names, told by its first letter. One row of `code_kinds()` each.
enum class CodeKind : char {
  animal = 'A',
  clutch = 'C',
  egg_box = 'E',
  group = 'G',
  helper = 'H',
  rack = 'R',
  shortcut = 'S',  ///< a line of the scan sheet: stands for a short entry
  place = 'T',     ///< where a tub stands
};

struct CodeKindInfo {
  CodeKind kind;
  std::string_view word;  ///< "animal", "place" …
};
std::span<const CodeKindInfo> code_kinds();
std::optional<CodeKind> code_kind_of_letter(char letter);
std::string_view word_of(CodeKind kind);

/// Ten characters: one letter for what it names, eight random ones of `0-9 A-Z` without I, L, O, U, one
/// ISO/IEC 7064 MOD 37,36 check character that is none of those four either. Always valid once constructed.
class Code {
 public:
  static constexpr std::size_t kLength = 10;
  /// Draws random bytes until the check character is in the alphabet and would notice any swap of two neighbours: the
  /// standard's system misses about one swap in 700, and a code that none of them threatens costs one draw in 80.
  /// `random` fills a span with random bytes.
  static Code generate(CodeKind kind, void (*random)(std::span<std::uint8_t>));

  CodeKind kind() const { return static_cast<CodeKind>(text_[0]); }
  std::string_view text() const { return {text_.data(), text_.size()}; }
  std::string str() const { return std::string(text()); }
  /// "T7K2 M9QX 4A" style grouping for people: 4 4 2.
  std::string spaced() const;
  auto operator<=>(const Code&) const = default;

 private:
  friend struct CodeReading;
  friend struct CodeAccess;
  std::array<char, kLength> text_{};
};

/// The outcome of reading a text that may be a code: a bare code or a link whose last path segment is one.
struct CodeReading {
  enum class Problem {
    none,
    not_a_code,     ///< nothing like a code: another length, other characters (a foreign symbol, a short ID)
    bad_letter,     ///< ten good characters, but the first names no kind of thing
    bad_character,  ///< one character outside the alphabet that no look-alike explains
    bad_check,      ///< the check character disagrees: a wrong or swapped character
  };
  std::optional<Code> code;
  Problem problem = Problem::not_a_code;
  std::string message;  ///< for people: what is wrong, and why; empty when fine
  std::vector<Code>
      might_have_been;  ///< valid codes one substitution or neighbour swap away (not checked against a book)
};

/// Understands lower case, O for 0, I and L for 1, spaces and hyphens between characters, a trailing line ending, and
/// the link form `HTTPS://HOST[:PORT]/CODE` in any case, whose address is ignored. Never guesses: a text that fails its
/// check gives no code. Pure.
CodeReading read_code(std::string_view text);

/// The ISO/IEC 7064 MOD 37,36 check character of a text over 0-9 A-Z; nullopt when a character is outside that set.
std::optional<char> mod37_36_check(std::string_view text);
/// True when the text's last character is the check character of the rest.
bool mod37_36_valid(std::string_view text);

}  // namespace rackside::core
