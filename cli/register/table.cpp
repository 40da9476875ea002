#include "cli/register/table.h"

#include <algorithm>

#include "core/base/error.h"

namespace rackside::cli {
namespace {

bool is_blank(const Row& row) {
  return std::all_of(row.cells.begin(), row.cells.end(),
                     [](const std::string& cell) { return cell.find_first_not_of(" \t") == std::string::npos; });
}

}  // namespace

std::vector<Row> parse_table(std::string_view text, char separator) {
  constexpr std::string_view kByteOrderMark = "\xef\xbb\xbf";
  if (text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
  std::vector<Row> rows{{1, {""}}};
  bool quoted = false;
  std::size_t line = 1;
  std::size_t opened = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    std::string& cell = rows.back().cells.back();
    // A carriage return alone ended a line once; spreadsheets of that kind still write it.
    const bool ends_line = c == '\n' || (c == '\r' && (i + 1 == text.size() || text[i + 1] != '\n'));
    if (ends_line) ++line;
    if (quoted) {
      if (c == '"' && i + 1 < text.size() && text[i + 1] == '"') {
        cell += '"';
        ++i;
      } else if (c == '"') {
        quoted = false;
      } else {
        cell += c;
      }
    } else if (c == '"') {
      quoted = true;
      opened = line;
    } else if (c == separator) {
      rows.back().cells.emplace_back();
    } else if (ends_line) {
      rows.push_back({line, {""}});
    } else if (c != '\r') {
      cell += c;
    }
  }
  if (quoted) {
    throw core::Error(core::Fault::bad_input, "Line " + std::to_string(opened) +
                                                  " of the table opens a quote that nothing closes. Close it, or "
                                                  "write \"\" for a quote. Nothing was recorded.");
  }
  std::erase_if(rows, is_blank);
  return rows;
}

char separator_of(std::string_view text) {
  constexpr std::string_view kKnown = ",;\t|";
  std::size_t counts[kKnown.size()] = {};
  bool quoted = false;
  for (const char c : text) {
    if (c == '"') quoted = !quoted;
    if (quoted) continue;
    if (c == '\n' || c == '\r') break;
    const auto at = kKnown.find(c);
    if (at != std::string_view::npos) ++counts[at];
  }
  return kKnown[static_cast<std::size_t>(std::max_element(std::begin(counts), std::end(counts)) - std::begin(counts))];
}

std::string table_row(const std::vector<std::string>& cells) {
  std::string out;
  for (const std::string& cell : cells) {
    if (!out.empty() || &cell != &cells.front()) out += ',';
    if (cell.find_first_of(",\"\r\n") == std::string::npos) {
      out += cell;
      continue;
    }
    out += '"';
    for (const char c : cell) out += c == '"' ? std::string("\"\"") : std::string(1, c);
    out += '"';
  }
  return out + "\r\n";
}

}  // namespace rackside::cli
