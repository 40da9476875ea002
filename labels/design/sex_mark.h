#pragma once

#include "labels/design/label.h"
#include "labels/design/text_ruler.h"

namespace rackside::labels {

/// Width of the mark for a height of 1.
double sex_mark_width(LabelSex sex, const TextRuler& ruler);

/// Draws the sign (♂, ♀) and its letter (M, F), or a question mark, as high as `height` with the top left at (x, y).
/// The signs are drawn, not set: they stay bold in every font and on a 1-bit printer.
void draw_sex_mark(Picture& picture, LabelSex sex, double x, double y, double height, const TextRuler& ruler);

}  // namespace rackside::labels
