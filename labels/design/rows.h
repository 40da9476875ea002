#pragma once

#include <functional>
#include <vector>

#include "labels/design/picture.h"

namespace rackside::labels {

/// One row of a label's text column.
struct Row {
  double weight = 1;        ///< share of the height, against the other rows
  double gap_before = 0;    ///< in the same units
  double cap = 1e9;         ///< mm; higher than this its text would be wider than the column
  double least_part = 0.6;  ///< of its plain share that it keeps when capped: a long name is cut sooner than made tiny
  std::function<void(const Box&)> draw;
  bool ranked = false;  ///< a line of text whose size tells its rank
};

/// The boxes of rows stacked in `column`: as high as the column allows in proportion to the weights, capped rows
/// giving their share to the others. The first row leads: no other grows over it. Room that nobody can use goes between
/// the rows, evenly, then around them.
std::vector<Box> stack_rows(const std::vector<Row>& rows, const Box& column);

/// The height of a row of weight 1 when none is capped.
double plain_unit(const std::vector<Row>& rows, double height);

}  // namespace rackside::labels
