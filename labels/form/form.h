#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace rackside::labels {

// The form of the keeper's own files: a line is a word and what it says, `#` begins a comment, empty lines are free.

struct FormLine {
  int number = 0;    ///< from 1
  std::string word;  ///< in lower case
  std::string rest;  ///< what follows it, trimmed; UTF-8
};

/// Errors: bad_input for what is no text, or larger than kMostFormBytes. `name` is what messages call the file.
std::vector<FormLine> form_lines(std::string_view text, const std::string& name);
inline constexpr std::size_t kMostFormBytes = 65'536;

/// Error(bad_input) "NAME, line 3: MESSAGE".
[[noreturn]] void form_error(const std::string& name, int line, const std::string& message);

struct Pair {
  double first = 0;
  double second = 0;
};

/// "63.5 x 33.9", "63.5 x 33.9 mm" or "2.5 x 1 in", in millimetres. Errors: as form_error.
Pair form_measures(const FormLine& line, const std::string& name);
/// "3 x 8", whole numbers. Errors: as form_error.
Pair form_counts(const FormLine& line, const std::string& name);

/// The word of `known` that is meant by a mistyped one, in words for a message; empty when none is near.
std::string did_you_mean(std::string_view word, const std::vector<std::string>& known);

}  // namespace rackside::labels
