#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "cli/label_source.h"
#include "cli/session.h"
#include "cli/verbs.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

struct LabelOptions {
  std::vector<std::string> what;
  std::vector<std::string> entries;
  std::string sheet = "a4-3x8";
  std::string out;
  std::string host;
  std::string paper = "a4";
  std::string size = "50x25";
  int dpi = 203;
  labels::SheetOptions sheet_options;
};

void hand_over(Session& session, const labels::Printed& printed, const std::string& path, const std::string& what) {
  write_file(path, printed.bytes);
  if (session.json) {
    session.terminal.line(
        Json{{"file", path}, {"pages", printed.pages}, {"proven", printed.proven}, {"warnings", printed.warnings}}
            .dump());
    return;
  }
  session.terminal.good(fmt::format("{}: {} {}, {} page{}; every one was read back.", session.terminal.strong(path),
                                    printed.proven.size(), what, printed.pages, printed.pages == 1 ? "" : "s"));
  for (const std::string& warning : printed.warnings) session.terminal.warn(warning);
}

std::string out_or(const LabelOptions& options, const char* usual) {
  return options.out.empty() ? usual : options.out;
}

void nothing_to_print(const std::string& what) {
  throw Error(Fault::bad_input, "There is nothing to print: the book holds no " + what +
                                    ". Register some first (`rackside rack add`, `rackside animal add`).");
}

void print_places(Session& session, const LabelOptions& options) {
  std::vector<Named> racks;
  for (const std::string& text : options.what) racks.push_back(session.find(text, {"rack"}));
  Reader reader = session.reader();
  if (racks.empty()) racks = reader.racks();
  std::vector<labels::Label> all;
  for (const Named& rack : racks) {
    for (labels::Label& label : place_labels(reader, rack, options.host)) all.push_back(std::move(label));
  }
  if (all.empty()) nothing_to_print("racks");
  const labels::SheetSpec& sheet = labels::find_sheet(options.sheet);
  hand_over(session, labels::print_sheet(all, sheet, options.sheet_options), out_or(options, "place-labels.pdf"),
            "place labels");
}

void print_animals(Session& session, const LabelOptions& options) {
  std::vector<Named> animals;
  for (const std::string& text : options.what) animals.push_back(session.find_animal(text));
  Reader reader = session.reader();
  if (animals.empty()) animals = reader.all("animal");
  std::vector<labels::Label> all;
  for (const Named& animal : animals) all.push_back(animal_card(reader, animal, options.host));
  if (all.empty()) nothing_to_print("animals");
  const labels::SheetSpec& sheet = labels::find_sheet(options.sheet);
  hand_over(session, labels::print_sheet(all, sheet, options.sheet_options), out_or(options, "animal-cards.pdf"),
            "animal cards");
}

void print_scan_sheet(Session& session, const LabelOptions& options) {
  Reader reader = session.reader();
  const std::vector<std::string> entries = options.entries.empty() ? usual_entries(reader) : options.entries;
  const auto lines = scan_sheet_lines(session, entries);
  const auto paper = options.paper == "letter" ? labels::Paper::letter : labels::Paper::a4;
  hand_over(session, labels::print_scan_sheet("What you saw", lines, paper), out_or(options, "scan-sheet.pdf"),
            "entries");
}

labels::LabelSize parse_size(const std::string& text) {
  labels::LabelSize size;
  char cross = 0;
  std::istringstream in(text);
  in >> size.width_mm >> cross >> size.height_mm;
  if (!in || (cross != 'x' && cross != 'X') || size.width_mm < 5 || size.height_mm < 5 || size.width_mm > 300 ||
      size.height_mm > 300) {
    throw Error(Fault::usage, "“" + text + "” is no label size: write millimetres as 50x25.");
  }
  return size;
}

void print_single(Session& session, const LabelOptions& options) {
  const labels::LabelSize size = parse_size(options.size);
  Reader reader = session.reader();
  for (const std::string& text : options.what) {
    const Named thing = session.find(text);
    const labels::Label label = label_of(reader, thing, options.host);
    const bool one = options.what.size() == 1 && !options.out.empty();
    const std::string path = one ? options.out : thing.label + ".png";
    const bool svg = path.ends_with(".svg");
    hand_over(session, svg ? labels::print_label_svg(label, size) : labels::print_label_png(label, size, options.dpi),
              path, "label");
  }
}

void list_sheets(Session& session) {
  std::vector<std::vector<std::string>> rows;
  Json all = Json::array();
  for (const labels::SheetSpec& sheet : labels::built_in_sheets()) {
    all.push_back({{"name", sheet.name},
                   {"columns", sheet.columns},
                   {"rows", sheet.rows},
                   {"width_mm", sheet.label_width},
                   {"height_mm", sheet.label_height}});
    rows.push_back({session.terminal.name(sheet.name), fmt::format("{} × {} labels", sheet.columns, sheet.rows),
                    fmt::format("{} × {} mm", sheet.label_width, sheet.label_height)});
  }
  if (session.json) return session.terminal.line(all.dump());
  session.terminal.table(rows);
}

// ---- read

struct ReadVerbOptions {
  std::vector<std::string> images;
  bool any = false;
  bool plain = false;
};

/// The book is a help, not a need: without one, codes are read and not named.
std::optional<Reader> reader_if_any(Session& session) {
  try {
    return session.reader();
  } catch (const Error& error) {
    if (error.fault() == Fault::no_book) return std::nullopt;
    throw;
  }
}

struct Point {
  int x = 0;
  int y = 0;
};

Point centre(const labels::Corners& corners) {
  double x = 0;
  double y = 0;
  for (const auto& corner : corners) {
    x += corner.x;
    y += corner.y;
  }
  return {static_cast<int>(x / 4), static_cast<int>(y / 4)};
}

std::string name_of(std::optional<Reader>& reader, const CodeReading& reading) {
  if (!reading.code) return "";
  if (!reader) return std::string(word_of(reading.code->kind()));
  const auto thing = reader->thing_of(reading.code->text());
  if (!thing) return "not in this book";
  const Named named = reader->named(*thing);
  return (named.kind.empty() ? "not registered" : named.kind) + " " + named.label;
}

Json symbol_json(std::optional<Reader>& reader, const labels::ReadSymbol& symbol) {
  Json corners = Json::array();
  for (const auto& corner : symbol.corners) corners.push_back({static_cast<int>(corner.x), static_cast<int>(corner.y)});
  Json one = {{"text", symbol.text}, {"corners", corners}, {"names", name_of(reader, symbol.reading)}};
  if (symbol.reading.code) one["code"] = symbol.reading.code->str();
  return one;
}

bool print_reading(Session& session, std::optional<Reader>& reader, const std::string& path,
                   const labels::PictureReading& reading, const ReadVerbOptions& options) {
  const Terminal& out = session.terminal;
  if (options.plain) {
    for (const auto& symbol : reading.symbols)
      out.line(options.any || !symbol.reading.code ? symbol.text : symbol.reading.code->str());
    return !reading.symbols.empty();
  }
  if (session.json) {
    Json symbols = Json::array();
    for (const auto& symbol : reading.symbols) symbols.push_back(symbol_json(reader, symbol));
    out.line(Json{{"file", path},
                  {"width", reading.width},
                  {"height", reading.height},
                  {"symbols", symbols},
                  {"foreign", reading.foreign}}
                 .dump(-1, ' ', false, Json::error_handler_t::replace));
    return !reading.symbols.empty();
  }
  out.line(out.strong(path) + out.faint(fmt::format("  {} × {}", reading.width, reading.height)));
  std::vector<std::vector<std::string>> rows;
  for (const auto& symbol : reading.symbols) {
    const Point at = centre(symbol.corners);
    rows.push_back({"  " + (symbol.reading.code ? symbol.reading.code->spaced() : symbol.text),
                    out.name(name_of(reader, symbol.reading)), out.faint(fmt::format("at {}, {}", at.x, at.y))});
  }
  out.table(rows);
  if (reading.foreign > 0)
    out.line(
        out.faint(fmt::format("  and {} foreign symbol{}, ignored", reading.foreign, reading.foreign == 1 ? "" : "s")));
  if (rows.empty()) out.warn("no code found: come closer, avoid glare, hold the camera straight");
  return !rows.empty();
}

void read_images(Session& session, const ReadVerbOptions& options) {
  std::optional<Reader> reader = reader_if_any(session);
  std::string failed;
  Fault fault = Fault::nothing_read;
  for (const std::string& path : options.images) {
    try {
      const auto reading =
          labels::read_image_file(path, {options.any ? labels::ReadScope::any : labels::ReadScope::codes});
      if (!print_reading(session, reader, path, reading, options) && failed.empty())
        failed = "No code was found in " + path + ".";
    } catch (const Error& error) {
      if (error.fault() == Fault::internal || options.images.size() == 1) throw;
      session.terminal.problem(error.what());
      fault = Fault::unreadable_image;
      failed = "Some pictures could not be read; the others were.";
    }
  }
  if (!failed.empty()) throw Error(fault, failed);
}

}  // namespace

void add_label_verbs(CLI::App& app, Session& session) {
  auto options = std::make_shared<LabelOptions>();
  auto* label = app.add_subcommand("label", "Print labels; each page is read back before it is handed over");
  label->require_subcommand(1);
  const auto common = [&](CLI::App* verb) {
    verb->add_option("--out", options->out, "The file to write");
    verb->add_option("--host", options->host, "Print links to this host (hub.local:8443) instead of bare codes");
  };
  const auto on_sheet = [&](CLI::App* verb) {
    common(verb);
    verb->add_option("--sheet", options->sheet, "The label sheet: see `rackside label sheets`");
    verb->add_option("--start", options->sheet_options.start_cell,
                     "First free label on a half-used sheet, 1 is the top left");
    verb->add_option("--right", options->sheet_options.offset_x, "Millimetres to the right, in steps of 0.5");
    verb->add_option("--down", options->sheet_options.offset_y, "Millimetres down, in steps of 0.5");
  };
  auto* places = label->add_subcommand("places", "Labels for the places of racks, in walking order");
  places->add_option("racks", options->what, "Racks; all when none is named");
  on_sheet(places);
  places->callback([&session, options] { print_places(session, *options); });
  auto* animals = label->add_subcommand("animals", "Cards that travel with the animals");
  animals->add_option("animals", options->what, "Animals; all when none is named");
  on_sheet(animals);
  animals->callback([&session, options] { print_animals(session, *options); });
  auto* scan = label->add_subcommand("scan-sheet", "A page of entries for a handheld scanner");
  scan->add_option("--entry", options->entries, "An entry, as typed into `scan`: \"fed small-rat\"; repeat for more");
  scan->add_option("--paper", options->paper, "a4 or letter")->check(CLI::IsMember({"a4", "letter"}));
  common(scan);
  scan->callback([&session, options] { print_scan_sheet(session, *options); });
  auto* one = label->add_subcommand("png", "Single labels for a label printer, PNG (or SVG by the file's ending)");
  one->add_option("what", options->what, "Codes or short IDs")->required();
  one->add_option("--size", options->size, "Millimetres: 50x25");
  one->add_option("--dpi", options->dpi, "Dots per inch of the printer: 203 or 300")->check(CLI::Range(100, 1200));
  common(one);
  one->callback([&session, options] { print_single(session, *options); });
  auto* sheets = label->add_subcommand("sheets", "The label sheets this program knows");
  sheets->callback([&session] { list_sheets(session); });

  auto reading = std::make_shared<ReadVerbOptions>();
  auto* read = app.add_subcommand("read", "Read the codes in pictures: which, where, and what they name");
  read->add_option("images", reading->images, "JPEG or PNG files")->required();
  read->add_flag("--any", reading->any, "Foreign QR symbols too");
  read->add_flag("--plain", reading->plain, "Only the texts, one a line");
  read->callback([&session, reading] { read_images(session, *reading); });
}

}  // namespace rackside::cli
