#include <fmt/format.h>

#include <CLI/CLI.hpp>

#include "cli/demo/season.h"
#include "cli/label_source.h"
#include "cli/print/print_options.h"
#include "cli/session.h"
#include "cli/verbs.h"
#include "labels/photo/photo.h"
#include "labels/print/gallery.h"

namespace rackside::cli {
namespace {

using namespace core;

struct PhotoVerbOptions {
  std::vector<std::string> what;
  std::string out = "rack.jpg";
  std::string size = "70x37";
  std::string kind;
  unsigned seed = 1;
  int columns = 3;
};

/// A made-up photo of labels as they hang on a rack: what `read` and `scan --images` are shown in the demo.
void make_photo(Session& session, const PhotoVerbOptions& options) {
  std::vector<labels::Label> all;
  Reader reader = session.reader();
  LabelDesk desk{.reader = reader, .host = "", .now = session.now()};
  for (const std::string& text : options.what) {
    const Named thing = session.find(text);
    if (thing.kind == "rack") {
      for (SourcedLabel& one : place_labels(reader, thing, labels::LabelKind::place, ""))
        all.push_back(std::move(one.label));
    } else {
      const auto kind = labels::label_kind_of(options.kind).value_or(usual_kind(thing));
      all.push_back(label_of(desk, thing, kind));
    }
  }
  labels::PhotoOptions photo{.seed = options.seed, .columns = options.columns};
  write_file(options.out, labels::render_rack_photo(all, parse_size(options.size), photo).jpeg);
  session.terminal.good(fmt::format("{}: a made-up photo of {} labels.", options.out, all.size()));
}

/// The designs at true size, as the README shows them.
void show_designs(Session& session, const std::string& path) {
  constexpr double kWidth = 225;
  constexpr int kDpi = 160;
  write_file(path, labels::png_of(labels::draw_gallery(labels::example_pieces(), kWidth, kDpi), kDpi));
  session.terminal.good(path + ": the label designs, at true size.");
}

}  // namespace

void add_demo_verbs(CLI::App& app, Session& session) {
  auto options = std::make_shared<PhotoVerbOptions>();
  auto* demo = app.add_subcommand("demo", "Made-up things for trying the program");
  demo->require_subcommand(1);
  demo->group("Trying it out");
  auto* photo = demo->add_subcommand("photo", "A made-up photo of labels on a rack, as JPEG");
  photo->add_option("what", options->what, "Racks, places or animals")->required();
  photo->add_option("--out", options->out, "The file to write");
  photo->add_option("--size", options->size, "The labels' size in millimetres: 70x37");
  photo->add_option("--as", options->kind, "The kind of label of an animal: hatchling, sale");
  photo->add_option("--seed", options->seed, "Of everything that varies");
  photo->add_option("--columns", options->columns, "Tubs side by side")->check(CLI::Range(1, 8));
  photo->callback([&session, options] { make_photo(session, *options); });
  auto season_options = std::make_shared<DemoSeason>();
  auto* season = demo->add_subcommand("season", "Fill a book without animals with an invented year that ends today");
  season->add_option("--seed", season_options->seed, "Of everything that varies");
  season->add_option("--adults", season_options->adults, "Adult animals")->check(CLI::Range(40, 125));
  season->callback([&session, season_options] { play_season(session, *season_options); });
  auto path = std::make_shared<std::string>("designs.png");
  auto* designs = demo->add_subcommand("designs", "The label designs with made-up animals, at true size, as PNG");
  designs->add_option("--out", *path, "The file to write");
  designs->callback([&session, path] { show_designs(session, *path); });
}

}  // namespace rackside::cli
