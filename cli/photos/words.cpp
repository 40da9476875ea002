#include "cli/photos/words.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace rackside::cli {
namespace {

struct Spot {
  double x = 0;
  double y = 0;
  double side = 0;
  std::optional<labels::Unread> unread;
  std::string label;  ///< of one that was read
};

Spot spot_of(const labels::Corners& corners) {
  Spot spot;
  for (const auto& corner : corners) {
    spot.x += corner.x / 4;
    spot.y += corner.y / 4;
  }
  spot.side = std::hypot(corners[1].x - corners[0].x, corners[1].y - corners[0].y);
  return spot;
}

/// From the top, each from the left. A row goes on while the next label is less than a side lower than the mean of the
/// row so far, so that a camera held askew does not tear it.
std::vector<std::vector<Spot>> rows_of(std::vector<Spot> spots) {
  std::sort(spots.begin(), spots.end(), [](const Spot& a, const Spot& b) { return a.y < b.y; });
  std::vector<std::vector<Spot>> rows;
  double mean = 0;
  for (const Spot& spot : spots) {
    if (rows.empty() || spot.y - mean > spot.side) rows.emplace_back();
    rows.back().push_back(spot);
    mean += (spot.y - mean) / static_cast<double>(rows.back().size());
    if (rows.back().size() == 1) mean = spot.y;
  }
  for (auto& row : rows) std::sort(row.begin(), row.end(), [](const Spot& a, const Spot& b) { return a.x < b.x; });
  return rows;
}

std::string count_word(std::size_t number) {
  static const char* const kWords[] = {"zero", "one",   "two",   "three", "four", "five",
                                       "six",  "seven", "eight", "nine",  "ten"};
  return number < std::size(kWords) ? kWords[number] : std::to_string(number);
}

std::string order_word(std::size_t number) {
  static const char* const kWords[] = {"",      "first",   "second", "third", "fourth", "fifth",
                                       "sixth", "seventh", "eighth", "ninth", "tenth"};
  if (number < std::size(kWords)) return kWords[number];
  const std::size_t last = number % 100 / 10 == 1 ? 0 : number % 10;
  return std::to_string(number) + (last == 1 ? "st" : last == 2 ? "nd" : last == 3 ? "rd" : "th");
}

/// The nearest of its row that was read.
std::string neighbour_of(const std::vector<Spot>& row, std::size_t at) {
  for (std::size_t away = 1; away < row.size(); ++away) {
    if (at >= away && !row[at - away].unread) return ", right of " + row[at - away].label;
    if (at + away < row.size() && !row[at + away].unread) return ", left of " + row[at + away].label;
  }
  return "";
}

}  // namespace

std::string advice_for(labels::Unread why) {
  switch (why) {
    case labels::Unread::too_small:
      return "too small in the picture; come closer";
    case labels::Unread::blurred:
      return "too blurred; hold still and let the camera focus, or come closer";
    case labels::Unread::glare:
      return "bleached by a reflection; stand a little to the side, or switch the flash off";
    case labels::Unread::too_dark:
      return "too dark; bring a light";
    case labels::Unread::too_slanted:
      return "seen too much from the side; stand before it";
    case labels::Unread::damaged:
      return "damaged, dirty or wet; wipe it, or print it again";
  }
  return "";
}

std::vector<std::string> unread_lines(const labels::PictureReading& reading,
                                      const std::function<std::string(const core::Code&)>& label_of) {
  std::vector<Spot> spots;
  for (const auto& symbol : reading.symbols) {
    if (!symbol.reading.code) continue;
    spots.push_back(spot_of(symbol.corners));
    spots.back().label = label_of(*symbol.reading.code);
  }
  for (const auto& one : reading.unread) {
    spots.push_back(spot_of(one.corners));
    spots.back().unread = one.why;
  }
  const auto rows = rows_of(std::move(spots));
  std::vector<std::string> lines;
  for (std::size_t row = 0; row < rows.size(); ++row) {
    for (std::size_t i = 0; i < rows[row].size(); ++i) {
      if (!rows[row][i].unread) continue;
      const std::string where = rows.size() == 1 ? "" : " of row " + count_word(row + 1);
      lines.push_back(order_word(i + 1) + " label" + where + neighbour_of(rows[row], i) + ": " +
                      advice_for(*rows[row][i].unread));
    }
  }
  return lines;
}

}  // namespace rackside::cli
