#pragma once

#include "labels/design/label.h"
#include "labels/design/picture.h"
#include "labels/image/image.h"
#include "tests/photos/chance.h"

namespace rackside::tests {

struct PrintStyle {
  int dpi = 300;
  double growth = 0;         ///< chance that a dot beside a dark one is dark too
  int streaks = 0;           ///< dead heating elements of a roll printer: thin white lines
  double damage = 0;         ///< of what the correction level allows; 0 for none
  bool lost_corner = false;  ///< a finder pattern mostly gone
};

/// A label as it came out of a printer and was treated since: 0 ink, 255 paper.
struct Print {
  labels::GrayImage image;
  double dots_per_mm = 0;
  labels::LabelSize size;
  labels::PlacedSymbol symbol;  ///< millimetres in the label
};

/// Errors: as lay_out, for a size that the label does not fit.
Print make_print(Chance& chance, const labels::Label& label, labels::LabelSize size, const PrintStyle& style);

}  // namespace rackside::tests
