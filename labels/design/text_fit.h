#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "labels/design/text_ruler.h"

namespace rackside::labels {

/// Heights in parts of the em, of Latin text in the fonts used here; other scripts are measured.
inline constexpr double kCapHeight = 0.72;
inline constexpr double kAscent = 0.77;

struct TextLook {
  Weight weight = Weight::regular;
  Align align = Align::start;
  Color color = kBlack;
  Cut cut = Cut::end;
};

/// Sets `text` into `box` so that its ink stays inside: an em as high as the box, less where the script's marks or the
/// width ask for it, down to `least` of the box's height; what is still too wide is cut with an ellipsis when drawn.
/// The first letter's ink begins where the box does: the line's own box reaches further by the white before it.
TextLine fit_line(const TextRuler& ruler, std::string_view text, const Box& box, const TextLook& look,
                  double least = 0.8);

/// The same for a headline: capitals and digits are as high as the box.
TextLine fit_headline(const TextRuler& ruler, std::string_view text, const Box& box, const TextLook& look,
                      double least = 0.8);

/// The height of box at which the line, or the headline, is just as wide as `width`.
double height_for_width(const TextRuler& ruler, std::string_view text, Weight weight, double width);
double headline_height_for_width(const TextRuler& ruler, std::string_view text, Weight weight, double width);

/// The two lines into which a name is best broken, at a space or behind a hyphen; empty when there is no such place.
std::optional<std::pair<std::string, std::string>> two_lines(const TextRuler& ruler, std::string_view text,
                                                             Weight weight);

/// Joins whole items with ", " into at most `most_lines` lines of `width` at em `size`. What has no room is counted:
/// "amel, motley, +2". An item wider than a line keeps its line for itself.
std::vector<std::string> pack_items(const TextRuler& ruler, const std::vector<std::string>& items, Weight weight,
                                    double size, double width, int most_lines);

}  // namespace rackside::labels
