#include "labels/design/rows.h"

#include <algorithm>

namespace rackside::labels {
namespace {

constexpr double kGapGrowth = 1.7;      ///< gaps grow to at most this, then the stack is centred
constexpr double kLedLeastPart = 0.75;  ///< of the plain unit that the other rows keep under a tiny first row
constexpr double kReadableMm = 1.6;

double capped(const Row& row, double plain) {
  const double share = row.weight * plain;
  return std::max({row.cap, row.least_part * share, std::min(kReadableMm, share)});
}

double row_height(const Row& row, double unit, double plain) {
  return std::min(row.weight * unit, capped(row, plain));
}

/// Gaps go with the first row, not with rows whose caps let the unit run up.
double gap_height(const std::vector<Row>& rows, const Row& row, double unit, double plain) {
  return row.gap_before * std::min(unit, std::max(kLedLeastPart * plain, capped(rows[0], plain) / rows[0].weight));
}

double stack_height(const std::vector<Row>& rows, double unit, double plain) {
  double height = 0;
  for (const Row& row : rows) height += row_height(row, unit, plain) + gap_height(rows, row, unit, plain);
  return height;
}

/// The first row leads: no other becomes higher than it can.
double leading_unit(const std::vector<Row>& rows, double plain) {
  double heaviest = 1e-9;
  for (std::size_t i = 1; i < rows.size(); ++i) heaviest = std::max(heaviest, rows[i].weight);
  return rows.size() < 2 ? 1e9 : std::max(capped(rows[0], plain) / heaviest, kLedLeastPart * plain);
}

double unit_that_fills(const std::vector<Row>& rows, double height, double plain) {
  double low = 0;
  double high = std::min(leading_unit(rows, plain), height);
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
  const double unit = unit_that_fills(rows, column.height, plain);
  double gaps = 0;
  for (const Row& row : rows) gaps += gap_height(rows, row, unit, plain);
  const double spare = std::max(0.0, column.height - stack_height(rows, unit, plain));
  const double stretch = gaps > 0 ? std::min(kGapGrowth, 1 + spare / gaps) : 1;
  double y = column.y + (spare - gaps * (stretch - 1)) / 2;
  std::vector<Box> boxes;
  for (const Row& row : rows) {
    y += gap_height(rows, row, unit, plain) * stretch;
    boxes.push_back({column.x, y, column.width, row_height(row, unit, plain)});
    y = boxes.back().bottom();
  }
  return boxes;
}

}  // namespace rackside::labels
