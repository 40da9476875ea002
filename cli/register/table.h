#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace rackside::cli {

/// One row of a table, and the line of the file that it begins in: a cell in quotes may hold line breaks.
struct Row {
  std::size_t line = 0;
  std::vector<std::string> cells;
};

/// Separated values as RFC 4180 has them: cells in quotes may hold separators, line breaks and doubled quotes. Line
/// feeds alone end a line too, rows without any text are left out, and so is the byte-order mark that spreadsheets put
/// first.
/// Errors: bad_input for a quote that nothing closes, which would swallow the rest of the table. Pure.
std::vector<Row> parse_table(std::string_view text, char separator = ',');

/// What separates the cells: of comma, semicolon, tab and bar the one that the first line has most of outside quotes;
/// a comma where it has none. Pure.
char separator_of(std::string_view text);

/// One row as RFC 4180 has it, with its line ending: cells in quotes where they must be. Pure.
std::string table_row(const std::vector<std::string>& cells);

}  // namespace rackside::cli
