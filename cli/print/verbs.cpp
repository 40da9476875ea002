#include "cli/print/verbs.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "cli/print/hand_over.h"
#include "cli/print/terminal_picture.h"
#include "core/read/prints.h"

namespace rackside::cli {
namespace {

using namespace core;
using labels::LabelKind;
using Json = nlohmann::json;

[[noreturn]] void nothing_to_print(const std::string& what) {
  throw Error(Fault::bad_input, "There is nothing to print: the book holds no " + what +
                                    ". Register some first (`rackside rack add`, `rackside animal add`).");
}

// ---- what is labelled

std::vector<SourcedLabel> all_places(Session& session, const PrintOptions& options, LabelKind kind) {
  std::vector<Named> racks;
  for (const std::string& text : options.what) racks.push_back(session.find(text, {"rack"}));
  Reader reader = session.reader();
  if (racks.empty()) racks = reader.racks();
  std::vector<SourcedLabel> all;
  for (const Named& rack : racks) {
    for (SourcedLabel& label : place_labels(reader, rack, kind, options.host)) all.push_back(std::move(label));
  }
  if (all.empty()) nothing_to_print("racks");
  return all;
}

void print_places(Session& session, const PrintOptions& options) {
  print_labels(session, options,
               {LabelKind::place, all_places(session, options, LabelKind::place), "place labels", "place-labels"});
}

void print_strips(Session& session, const PrintOptions& options) {
  PrintWork work{LabelKind::strip, all_places(session, options, LabelKind::strip), "places on rack strips",
                 "rack-strips"};
  std::vector<labels::Label> places;
  for (const SourcedLabel& one : work.labels) places.push_back(one.label);
  const bool a4 = paper_of(options) == labels::Paper::a4;
  print_plan(session, options, labels::strip_plan(places, paper_of(options), options.strip),
             a4 ? labels::LabelSize{297, 210} : labels::LabelSize{279.4, 215.9}, std::move(work),
             "strip-" + options.paper);
}

/// True for an animal that hatched within the last year.
bool is_young(Reader& reader, const Named& animal, Instant now) {
  constexpr Instant kYear = Instant{365} * 86'400'000;
  const std::string hatched = reader.field(animal.thing, "hatched");
  // A day, a month or only a year.
  return !hatched.empty() && hatched >= date_text(reader.settings().zone.day_of(now - kYear)).substr(0, hatched.size());
}

void print_animals(Session& session, const PrintOptions& options, LabelKind kind, const char* noun, const char* file) {
  Reader reader = session.reader();
  std::vector<Named> animals;
  for (const std::string& text : options.what) animals.push_back(session.find_animal(text));
  if (animals.empty()) {
    for (const Named& animal : reader.all("animal")) {
      if (kind == LabelKind::animal_card || is_young(reader, animal, session.now())) animals.push_back(animal);
    }
  }
  if (animals.empty())
    nothing_to_print(kind == LabelKind::hatchling ? "animals that hatched within the last year" : "animals");
  for (const Named& animal : animals) {
    if (kind == LabelKind::sale && !session.json && is_under_treatment(reader, animal.thing, session.now()))
      session.terminal.warn(animal.label + " is under treatment: it may not be sold before a veterinarian says so.");
  }
  PrintWork work{kind, {}, noun, file};
  LabelDesk desk{.reader = reader, .host = options.host, .now = session.now()};
  std::optional<BrokenCard> broken;
  for (const Named& animal : animals) {
    try {
      work.labels.push_back({animal.code, animal_label(desk, animal, kind)});
    } catch (const BrokenCard& error) {
      work.left_out.emplace_back(error.what());
      broken = error;
    }
  }
  if (work.labels.empty() && broken) throw BrokenCard(*broken);
  print_labels(session, options, std::move(work));
}

void print_clutches(Session& session, const PrintOptions& options) {
  if (options.boxes < 1 || options.boxes > 50) throw Error(Fault::usage, "A clutch is in 1 to 50 boxes.");
  const bool one = options.boxes == 1;
  PrintWork work{one ? LabelKind::clutch : LabelKind::egg_box,
                 {},
                 one ? "clutch labels" : "egg box labels",
                 one ? "clutches" : "egg-boxes"};
  for (const std::string& text : options.what) {
    for (SourcedLabel& label : clutch_labels(session, session.find_animal(text), options.boxes, options.host))
      work.labels.push_back(std::move(label));
  }
  print_labels(session, options, std::move(work));
}

void print_helpers(Session& session, const PrintOptions& options) {
  Reader reader = session.reader();
  std::vector<Named> helpers;
  for (const std::string& text : options.what) helpers.push_back(session.find(text, {"helper"}));
  if (helpers.empty()) helpers = reader.all("helper");
  if (helpers.empty()) nothing_to_print("helpers");
  PrintWork work{LabelKind::helper_badge, {}, "helper badges", "helper-badges"};
  for (const Named& helper : helpers) work.labels.push_back({helper.code, helper_label(reader, helper, options.host)});
  print_labels(session, options, std::move(work));
}

void print_scan_sheet(Session& session, const PrintOptions& options) {
  Reader reader = session.reader();
  const auto entries = options.entries.empty() ? usual_entries(reader) : options.entries;
  const auto lines = scan_sheet_lines(session, entries);
  const bool a4 = paper_of(options) == labels::Paper::a4;
  // The sheet belongs to the desk, not to a thing: it is not registered.
  print_plan(session, options, labels::scan_sheet_plan("What you saw", lines, paper_of(options)),
             a4 ? labels::LabelSize{210, 297} : labels::LabelSize{215.9, 279.4},
             {LabelKind::scan_line, {}, "entries", "scan-sheet"}, options.paper);
}

void print_calibration(Session& session, const PrintOptions& options) {
  const labels::SheetSpec sheet = sheet_of(options);
  print_plan(session, options, labels::calibration_plan(sheet, options.sheet_options),
             {sheet.page_width, sheet.page_height}, {LabelKind::place, {}, "symbols", "calibration"}, sheet.name);
}

// ---- single labels

LabelKind kind_for(const PrintOptions& options, const Named& thing) {
  if (options.kind.empty()) return usual_kind(thing);
  const auto kind = labels::label_kind_of(options.kind);
  if (!kind) throw Error(Fault::usage, "“" + options.kind + "” is no kind of label. There are: " + kind_words() + ".");
  return *kind;
}

void print_single(Session& session, const PrintOptions& options) {
  Reader reader = session.reader();
  LabelDesk desk{.reader = reader, .host = options.host, .now = session.now()};
  for (const std::string& text : options.what) {
    const Named thing = session.find(text);
    const LabelKind kind = kind_for(options, thing);
    const labels::Label label = label_of(desk, thing, kind);
    const auto design = design_of(options, kind);
    const labels::LabelSize size = design && design->size ? *design->size : parse_size(options.roll);
    const bool one = options.what.size() == 1 && !options.out.empty();
    if (one && options.out.ends_with(".svg")) {
      const labels::Printed printed = labels::print_label_svg(label, size, design ? &*design : nullptr);
      write_file(options.out, printed.bytes);
      session.terminal.good(fmt::format("{}: read back; {}.", session.terminal.strong(options.out),
                                        labels::reach_text(printed.module_mm)));
      for (const std::string& warning : printed.warnings) session.terminal.warn(warning);
      continue;
    }
    PrintOptions single = options;
    single.out = one ? options.out : thing.label + ".png";
    if (!single.out.ends_with(".png") && !single.out.ends_with(".pdf")) single.out += ".png";
    print_labels(session, single, {kind, {{thing.code, label}}, "label", thing.label});
  }
}

/// The size that a preview shows: the design's, the roll's, else the sheet's.
labels::LabelSize preview_size(const PrintOptions& options, const std::optional<labels::Design>& design) {
  if (!options.roll.empty()) return parse_size(options.roll);
  if (design && design->size) return *design->size;
  const labels::SheetSpec sheet = sheet_of(options);
  return {sheet.label_width, sheet.label_height};
}

void preview(Session& session, const PrintOptions& options) {
  const Named thing = session.find(options.what.front());
  Reader reader = session.reader();
  const LabelKind kind = kind_for(options, thing);
  const auto design = design_of(options, kind);
  const labels::LabelSize size = preview_size(options, design);
  LabelDesk desk{.reader = reader, .host = options.host, .now = session.now()};
  const labels::Label label = label_of(desk, thing, kind);
  const labels::Preview shown = labels::preview_label(label, size, options.dpi, design ? &*design : nullptr);
  const std::string path = options.out.empty() ? "preview.png" : options.out;
  write_file(path, labels::png_of(shown.picture));
  if (session.json) {
    return session.terminal.line(Json{
        {"file", path},
        {"module_mm", shown.module_mm},
        {"phone_mm", labels::reach_mm(labels::kPhone, shown.module_mm)},
        {"handheld_mm", labels::reach_mm(labels::kHandheld, shown.module_mm)},
        {"warnings", shown.warnings}}.dump());
  }
  const bool on_screen = show_picture(shown.picture);
  session.terminal.good(fmt::format("{}: {} × {} mm at {} dpi; {}.", session.terminal.strong(path), size.width_mm,
                                    size.height_mm, options.dpi, labels::reach_text(shown.module_mm)));
  if (!on_screen && session.terminal.out_is_terminal())
    session.terminal.line(session.terminal.faint("  This terminal shows no pictures: open the file."));
  for (const std::string& warning : shown.warnings) session.terminal.warn(warning);
}

// ---- what there is

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
  session.terminal.line(session.terminal.faint(
      "\nA sheet of your own is a file, given as --sheet ./FILE:\n"
      "  page    210 x 297     # millimetres, or inches: 8.5 x 11 in\n"
      "  labels  3 x 8         # columns x rows\n"
      "  label   63.5 x 33.9\n"
      "  first   7.2 x 12.9    # left and top of the first label; without it the grid is centred\n"
      "  pitch   66 x 33.9     # from one label to the next; without it they touch\n"
      "Rolls are given by size, --roll 57x32, with --dpi 203 or 300: usual ones are 50x25, 57x32, 62x29, 100x50, "
      "38x21."));
}

void show_design(Session& session, const PrintOptions& options) {
  const auto kind = labels::label_kind_of(options.what.front());
  if (!kind) {
    throw Error(Fault::usage, "“" + options.what.front() + "” is no kind of label. There are: " + kind_words() + ".");
  }
  std::string fields;
  for (const std::string& word : labels::field_words()) fields += " " + word;
  session.terminal.line("# The built-in design. Write it into a file, change it, and print with --design FILE.");
  session.terminal.line(
      "# Lines: huge, large, medium, small, tiny (with bold), band, box, boxes N \"word\", size W x H.");
  session.terminal.line("# Fields:" + fields + ", my:WORD for one of your own; \"words\" in quotation marks.");
  session.terminal.line(labels::built_in_design_text(*kind));
}

void list_prints(Session& session) {
  Reader reader = session.reader();
  std::vector<std::vector<std::string>> rows;
  Json all = Json::array();
  for (const PrintRecord& record : prints(session.book())) {
    all.push_back({{"at", record.at}, {"design", record.design}, {"on", record.on}, {"codes", record.codes}});
    const auto first = reader.thing_of(record.codes.front());
    const std::string name = first ? reader.label(*first) : record.codes.front();
    rows.push_back({session.when(record.at), record.design, record.on,
                    record.codes.size() == 1 ? name : fmt::format("{} labels, {} …", record.codes.size(), name)});
  }
  if (session.json) return session.terminal.line(all.dump());
  if (rows.empty()) return session.terminal.line("No print is registered.");
  session.terminal.table(rows);
}

// ---- options

using Options = std::shared_ptr<PrintOptions>;

/// The note and the printer are words that become options once all are read.
void settle_options(PrintOptions& options) {
  if (options.note == "cell") options.sheet_options.note = labels::SheetNote::cell;
  if (options.note == "none") options.sheet_options.note = labels::SheetNote::none;
  options.to_printer = options.to_printer || !options.printer.empty();
}

void add_out_options(CLI::App* verb, const Options& options) {
  verb->add_option("--out", options->out, "The file to write");
  verb->add_flag("--print", options->to_printer, "Send it to the default printer too, through CUPS' `lp`");
  verb->add_option("--printer", options->printer, "Send it to this printer");
  verb->add_flag("--dry-run", options->dry_run, "Draw and prove, but send nothing and register nothing");
}

void add_label_options(CLI::App* verb, const Options& options) {
  add_out_options(verb, options);
  verb->add_option("--host", options->host, "Print links to this host (hub.local:8443) instead of bare codes");
  verb->add_option("--design", options->design, "A design of your own: see `rackside label design animal`");
  verb->add_flag("--no-record", options->no_record, "Do not register the print");
  verb->add_option("--repeat", options->sheet_options.repeat, "Each label so many times");
  verb->add_option("--roll", options->roll, "For a label printer: labels of this size, millimetres: 57x32");
  verb->add_option("--dpi", options->dpi, "Dots per inch of the label printer: 203 or 300")
      ->check(CLI::Range(100, 1200));
}

void add_sheet_options(CLI::App* verb, const Options& options) {
  verb->add_option("--sheet", options->sheet,
                   "The label sheet, or a file that describes it: see `rackside label sheets`");
  verb->add_option("--start", options->sheet_options.start_cell,
                   "First free label on a half-used sheet, 1 is the top left");
  verb->add_option("--right", options->sheet_options.offset_x, "Millimetres to the right, in steps of 0.5");
  verb->add_option("--down", options->sheet_options.offset_y, "Millimetres down, in steps of 0.5");
  verb->add_flag("--cut-marks", options->sheet_options.cut_marks, "A cross at every corner, for film or plain paper");
  verb->add_option("--note", options->note,
                   "“Print at 100 %”: on the page's margin, in the first label's cell, or none")
      ->check(CLI::IsMember({"margin", "cell", "none"}));
}

void add_batch_options(CLI::App* verb, const Options& options) {
  add_label_options(verb, options);
  add_sheet_options(verb, options);
  verb->add_flag("--changed", options->changed, "Only what says something else than when it was printed last");
}

void add_paper_option(CLI::App* verb, const Options& options) {
  verb->add_option("--paper", options->paper, "a4 or letter")->check(CLI::IsMember({"a4", "letter"}));
}

class LabelVerbs {
 public:
  LabelVerbs(CLI::App* label, Session& session) : label_(label), session_(session) {}

  void add_batches() {
    auto [places, place_options] = verb("places", "Labels for the places of racks, in walking order", print_places);
    places->add_option("racks", place_options->what, "Racks; all when none is named");
    add_batch_options(places, place_options);
    auto [strips, strip_options] =
        verb("strips", "Strips for the front of a rack, each place over its tub", print_strips);
    strips->add_option("racks", strip_options->what, "Racks; all when none is named");
    strips->add_option("--pitch", strip_options->strip.pitch, "Millimetres from one tub to the next");
    strips->add_option("--height", strip_options->strip.height, "Millimetres of the strip's height: 12 to 80");
    strips->add_option("--host", strip_options->host, "Print links to this host instead of bare codes");
    add_paper_option(strips, strip_options);
    add_out_options(strips, strip_options);
    add_animals("animals", "Cards that travel with the animals", LabelKind::animal_card, "animal cards", "animal-cards",
                "Animals; all when none is named");
    add_animals("hatchlings", "Cards for the low tubs of young ones", LabelKind::hatchling, "hatchling cards",
                "hatchling-cards", "Animals; those hatched within a year when none is named");
    auto sale = add_animals("sale", "Cards that go with animals to their buyers", LabelKind::sale, "sale cards",
                            "sale-cards", "Animals");
    sale->get_option("animals")->required();
    auto [clutch, clutch_options] =
        verb("clutch", "The label of a dam's newest clutch, or of each of its boxes", print_clutches);
    clutch->add_option("dams", clutch_options->what, "Dams")->required();
    clutch->add_option("--boxes", clutch_options->boxes, "Egg boxes that the clutch is in");
    add_batch_options(clutch, clutch_options);
    auto [helpers, helper_options] = verb("helpers", "Badges for helpers", print_helpers);
    helpers->add_option("helpers", helper_options->what, "Helpers; all when none is named");
    add_batch_options(helpers, helper_options);
  }

  void add_pages() {
    auto [scan, scan_options] = verb("scan-sheet", "A page of entries for a handheld scanner", print_scan_sheet);
    scan->add_option("--entry", scan_options->entries,
                     "An entry, as typed into `scan`: \"fed small-rat\"; repeat for more");
    scan->add_option("--host", scan_options->host, "Print links to this host instead of bare codes");
    add_paper_option(scan, scan_options);
    add_out_options(scan, scan_options);
    auto [calibrate, calibrate_options] =
        verb("calibrate", "A page that shows how far the printer is off, for --right and --down", print_calibration);
    add_sheet_options(calibrate, calibrate_options);
    add_out_options(calibrate, calibrate_options);
  }

  void add_singles() {
    auto [one, one_options] =
        verb("png", "Single labels for a label printer, PNG (or SVG, PDF by the file's ending)", print_single);
    one_options->roll = "50x25";
    one->add_option("what", one_options->what, "Codes or short IDs")->required();
    one->add_option("--as", one_options->kind, "The kind of label: " + kind_words());
    add_label_options(one, one_options);
    one->add_option("--size", one_options->roll, "The same as --roll");
    auto [again, again_options] = verb("again", "Print labels again as they were printed last", print_again);
    again_options->sheet.clear();
    again->add_option("what", again_options->what, "Codes or short IDs")->required();
    again->add_option("--as", again_options->kind, "The kind of label, where several were printed");
    add_label_options(again, again_options);
    add_sheet_options(again, again_options);
    auto [show, show_options] = verb("preview", "Show a label in the terminal, and write it as a PNG", preview);
    show_options->dpi = 300;
    show->add_option("what", show_options->what, "A code or short ID")->required()->expected(1);
    show->add_option("--as", show_options->kind, "The kind of label: " + kind_words());
    show->add_option("--sheet", show_options->sheet, "As large as on this sheet");
    show->add_option("--roll,--size", show_options->roll, "As large as on this roll: 57x32");
    show->add_option("--dpi", show_options->dpi, "Dots per inch")->check(CLI::Range(100, 1200));
    show->add_option("--design", show_options->design, "A design of your own");
    show->add_option("--host", show_options->host, "A link to this host instead of the bare code");
    show->add_option("--out", show_options->out, "The PNG to write");
  }

  void add_lists() {
    auto* sheets = label_->add_subcommand("sheets", "The label sheets this program knows, and how to describe others");
    sheets->callback([this_session = &session_] { list_sheets(*this_session); });
    auto [design, design_options] = verb("design", "The built-in design of a kind of label, to change it", show_design);
    design->add_option("kind", design_options->what, kind_words())->required()->expected(1);
    auto* printed = label_->add_subcommand("prints", "What was printed, newest first");
    printed->callback([this_session = &session_] { list_prints(*this_session); });
  }

 private:
  template <class Work>
  std::pair<CLI::App*, Options> verb(const std::string& name, const std::string& help, Work work) {
    auto options = std::make_shared<PrintOptions>();
    CLI::App* app = label_->add_subcommand(name, help);
    app->callback([session = &session_, options, work] {
      settle_options(*options);
      work(*session, *options);
    });
    return {app, options};
  }

  CLI::App* add_animals(const std::string& name, const std::string& help, LabelKind kind, const char* noun,
                        const char* file, const std::string& which) {
    auto [app, options] = verb(name, help, [kind, noun, file](Session& session, const PrintOptions& chosen) {
      print_animals(session, chosen, kind, noun, file);
    });
    app->add_option("animals", options->what, which);
    add_batch_options(app, options);
    return app;
  }

  CLI::App* label_;
  Session& session_;
};

}  // namespace

void add_print_verbs(CLI::App& app, Session& session) {
  auto* label = app.add_subcommand("label", "Print labels; each page is read back before it is handed over");
  label->require_subcommand(1);
  LabelVerbs verbs(label, session);
  verbs.add_batches();
  verbs.add_pages();
  verbs.add_singles();
  verbs.add_lists();
}

}  // namespace rackside::cli
