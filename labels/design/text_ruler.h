#pragma once

#include <string_view>

#include "labels/design/picture.h"

namespace rackside::labels {

/// How far one line of text reaches, for an em of 1 mm; everything scales with the em.
struct TextExtent {
  double advance = 0;    ///< from the start to where the next line's text would go on
  double ink_left = 0;   ///< leftmost ink from the start; negative when it hangs out
  double ink_right = 0;  ///< rightmost ink from the start
  double ink_above = 0;  ///< highest ink over the baseline
  double ink_below = 0;  ///< deepest ink under the baseline; 0 where there is none
};

/// Measures text as it will be drawn. Layout asks it, so that the designs know no font library.
class TextRuler {
 public:
  virtual ~TextRuler() = default;
  virtual TextExtent measure(std::string_view text, Weight weight) const = 0;
  /// The characters of a text that no font has, and emoji, which are left out; empty when all can be drawn.
  virtual std::string missing(std::string_view text, Weight weight) const = 0;
};

}  // namespace rackside::labels
