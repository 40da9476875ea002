#pragma once

#include <string>
#include <vector>

#include "core/read/life.h"

namespace rackside::cli {

enum class Glyphs : std::uint8_t { unicode, ascii };

/// One line of the chart: what stands left of it, and what is drawn. All `text`s are `columns` cells wide.
struct ChartLine {
  enum class Part : std::uint8_t { weight, meals, refusals, sheds, company, eggs, treatment, axis } part = Part::weight;
  std::string label;
  std::string text;
};

/// An animal's life as lines of a terminal: weight as a curve, below it by the same time what it ate and refused, its
/// sheds, who was with it, eggs, treatments; what it has none of is left out. Empty where there is nothing to draw.
/// Pure. Requires columns >= 20, rows >= 3.
std::vector<ChartLine> terminal_chart(const core::Life& life, int columns, int rows, Glyphs glyphs);

/// ASCII where TERM is dumb; everywhere else the program writes UTF-8 anyway.
Glyphs glyphs_of_terminal();

}  // namespace rackside::cli
