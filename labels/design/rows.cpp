#include "labels/design/rows.h"

#include <algorithm>

namespace rackside::labels {
namespace {

constexpr double kLeastPart = 0.6;   ///< of its plain share that a capped row keeps
constexpr double kGapGrowth = 2.2;   ///< gaps grow to at most this, then the stack is centred
constexpr double kUnitGrowth = 2.0;  ///< a label with little on it does not shout

double row_height(const Row& row, double unit, double plain) {
  return std::min(row.weight * unit, std::max(row.cap, kLeastPart * row.weight * plain));
}

double stack_height(const std::vector<Row>& rows, double unit, double plain) {
  double height = 0;
  for (const Row& row : rows) height += row_height(row, unit, plain) + row.gap_before * unit;
  return height;
}

double capped_unit(const std::vector<Row>& rows, double height, double plain) {
  double low = plain;
  double high = plain * kUnitGrowth;
  if (stack_height(rows, high, plain) <= height) return high;
  for (int step = 0; step < 50; ++step) {
    const double middle = (low + high) / 2;
    (stack_height(rows, middle, plain) <= height ? low : high) = middle;
  }
  return low;
}

}  // namespace

double plain_unit(const std::vector<Row>& rows, double height) {
  double weights = 0;
  for (const Row& row : rows) weights += row.weight + row.gap_before;
  return weights > 0 ? height / weights : 0;
}

std::vector<Box> stack_rows(const std::vector<Row>& rows, const Box& column) {
  const double plain = plain_unit(rows, column.height);
  const double unit = capped_unit(rows, column.height, plain);
  double gaps = 0;
  for (const Row& row : rows) gaps += row.gap_before * unit;
  const double spare = std::max(0.0, column.height - stack_height(rows, unit, plain));
  const double stretch = gaps > 0 ? std::min(kGapGrowth, 1 + spare / gaps) : 1;
  double y = column.y + (spare - gaps * (stretch - 1)) / 2;
  std::vector<Box> boxes;
  for (const Row& row : rows) {
    y += row.gap_before * unit * stretch;
    boxes.push_back({column.x, y, column.width, row_height(row, unit, plain)});
    y = boxes.back().bottom();
  }
  return boxes;
}

}  // namespace rackside::labels
