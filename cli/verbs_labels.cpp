#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "cli/print/verbs.h"
#include "cli/session.h"
#include "cli/verbs.h"
#include "labels/labels.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

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
  add_print_verbs(app, session);
  auto reading = std::make_shared<ReadVerbOptions>();
  auto* read = app.add_subcommand("read", "Read the codes in pictures: which, where, and what they name");
  read->add_option("images", reading->images, "JPEG or PNG files")->required();
  read->add_flag("--any", reading->any, "Foreign QR symbols too");
  read->add_flag("--plain", reading->plain, "Only the texts, one a line");
  read->callback([&session, reading] { read_images(session, *reading); });
}

}  // namespace rackside::cli
