#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace rackside::cli {

using Row = std::vector<std::string>;

/// Comma-separated values as RFC 4180 has them: cells in quotes may hold commas, line breaks and doubled quotes. Line
/// feeds alone end a line too, empty lines are left out, and so is the byte-order mark that spreadsheets put first.
/// Errors: bad_input for a quote that nothing closes, which would swallow the rest of the table. Pure.
std::vector<Row> parse_table(std::string_view text);

}  // namespace rackside::cli
