#include "cli/care/sheet.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "cli/care/sheet_page.h"
#include "cli/print/output_file.h"
#include "labels/draw/draw.h"
#include "labels/draw/text.h"

namespace rackside::cli {

using namespace core;
using Json = nlohmann::json;

void write_today_sheet(Session& session, const TodayOptions& options) {
  std::optional<Named> only;
  if (!options.rack.empty()) only = session.find(options.rack, {"rack"});
  Reader reader = session.reader();
  const auto sheets = rack_sheets(reader, session.now(), only);
  if (sheets.empty())
    throw Error(Fault::bad_input, only ? "Nobody lives in rack " + only->label + ": there is nothing to print."
                                       : "No animal lives in a rack: there is nothing to print.");
  const labels::PangoRuler ruler;
  const labels::Paper paper = options.paper == "letter" ? labels::Paper::letter : labels::Paper::a4;
  std::size_t pages = 0;
  OutputFile file(options.sheet);
  labels::PdfWriter writer([&](std::string_view bytes) { file.write(bytes); },
                           "Tonight, " + date_text(sheets.front().night));
  for (const RackSheet& sheet : sheets) {
    for (const labels::Picture& page : sheet_pages(sheet, paper, ruler)) {
      writer.add(page);
      ++pages;
    }
  }
  writer.finish();
  file.keep();
  if (session.json)
    return session.terminal.line(Json{{"file", options.sheet}, {"racks", sheets.size()}, {"pages", pages}}.dump());
  session.terminal.good(fmt::format("{}: {} rack{} on {} page{}. Enter what is ticked with `rackside ticked RACK`.",
                                    options.sheet, sheets.size(), sheets.size() == 1 ? "" : "s", pages,
                                    pages == 1 ? "" : "s"));
}

}  // namespace rackside::cli
