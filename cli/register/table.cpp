#include "cli/register/table.h"

#include "core/base/error.h"

namespace rackside::cli {

std::vector<Row> parse_table(std::string_view text) {
  constexpr std::string_view kByteOrderMark = "\xef\xbb\xbf";
  if (text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
  std::vector<Row> rows{{""}};
  bool quoted = false;
  std::size_t line = 1;
  std::size_t opened = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    std::string& cell = rows.back().back();
    if (c == '\n') ++line;
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
    } else if (c == ',') {
      rows.back().emplace_back();
    } else if (c == '\n') {
      rows.push_back({""});
    } else if (c != '\r') {
      cell += c;
    }
  }
  if (quoted) {
    throw core::Error(core::Fault::bad_input, "Line " + std::to_string(opened) +
                                                  " of the table opens a quote that nothing closes. Close it, or "
                                                  "write \"\" for a quote. Nothing was recorded.");
  }
  std::erase_if(rows, [](const Row& row) { return row.size() == 1 && row.front().empty(); });
  return rows;
}

}  // namespace rackside::cli
