#include <cmath>
#include <string>
#include <vector>

#include "labels/design/layout.h"
#include "labels/draw/draw.h"
#include "labels/draw/text.h"
#include "labels/sheet/pages.h"
#include "tests/support/catch.h"
#include "tests/unit/labels_support.h"

using namespace rackside;
using namespace rackside::labels;
using rackside::tests::animal_card;
using rackside::tests::contains;
using rackside::tests::error_of;
using rackside::tests::place_label;

namespace {

std::string complaint(const std::string& text) {
  const core::Error error = error_of([&] { parse_design(text, "card.txt"); });
  CHECK(error.fault() == core::Fault::bad_input);
  return error.what();
}

std::string sheet_complaint(const std::string& text) {
  const core::Error error = error_of([&] { parse_sheet(text, "sheet.txt"); });
  CHECK(error.fault() == core::Fault::bad_input);
  return error.what();
}

std::vector<std::string> lines_of(const Picture& picture) {
  std::vector<std::string> lines;
  for (const Shape& shape : picture.shapes) {
    if (const auto* line = std::get_if<TextLine>(&shape)) lines.push_back(line->text);
  }
  return lines;
}

bool says(const Picture& picture, const std::string& text) {
  for (const std::string& line : lines_of(picture)) {
    if (contains(line, text)) return true;
  }
  return false;
}

template <class Shape>
std::size_t count_of(const Picture& picture) {
  std::size_t count = 0;
  for (const auto& shape : picture.shapes) count += std::holds_alternative<Shape>(shape) ? 1 : 0;
  return count;
}

}  // namespace

TEST_CASE("a design of the keeper's own says which fields, how large, in which order", "[labels]") {
  const Design design = parse_design(
      "# north room\n"
      "for animal\n"
      "size 57 x 32 mm   # our roll\n"
      "huge name\n"
      "\n"
      "large bold \"takes\" prey\n"
      "small \"Line # 4:\" my:line | year\n"
      "boxes 4 \"meals\"\n",
      "card.txt");
  CHECK(design.kind == LabelKind::animal_card);
  REQUIRE(design.size);
  CHECK(design.size->width_mm == 57);
  CHECK(design.size->height_mm == 32);
  REQUIRE(design.rows.size() == 4);
  CHECK(design.rows[1].weight == Weight::bold);
  Label label = animal_card("C-14");
  label.own["line"] = "Lowland";
  CHECK(say(design.rows[1], label).text == "takes small rat");
  CHECK(say(design.rows[2], label).text == "Line # 4: Lowland  ·  2021");
  label.own.clear();
  CHECK(say(design.rows[2], label).text == "2021");
  label.prey.clear();
  CHECK(say(design.rows[1], label).says_nothing());
  const Picture picture = lay_out(label, design, {57, 32}, {300}, PangoRuler()).picture;
  CHECK(says(picture, "C-14"));
  CHECK_FALSE(says(picture, "amel"));
  CHECK(count_of<OutlinedBox>(picture) == 4);
}

TEST_CASE("a size may be said in inches", "[labels]") {
  const Design design = parse_design("for place\nsize 2 x 1 in\nhuge name", "card.txt");
  REQUIRE(design.size);
  CHECK(std::abs(design.size->width_mm - 50.8) < 1e-9);
  CHECK(std::abs(design.size->height_mm - 25.4) < 1e-9);
}

TEST_CASE("what is wrong in a design is told by its line, with what would be right", "[labels]") {
  CHECK(contains(complaint("huge name\n"), "does not say what it labels"));
  CHECK(contains(complaint("for animal\n"), "shows nothing"));
  CHECK(contains(complaint("for animl\nhuge name\n"),
                 "card.txt, line 1: “animl” is nothing that is labelled. Do you mean “animal”?"));
  CHECK(contains(complaint("for animal\nfor place\nhuge name\n"), "line 2: “for” is said twice"));
  CHECK(contains(complaint("for animal\n\nhuge nme\n"), "line 3: “nme” is no field. Do you mean “name”?"));
  CHECK(contains(complaint("for animal\nhug name\n"), "line 2: “hug” is no word of a design. Do you mean “huge”?"));
  CHECK(contains(complaint("for animal\nhuge\n"), "line 2: “huge” wants at least one field"));
  CHECK(contains(complaint("for animal\nhuge \"abc\n"), "line 2: a quotation mark is not closed"));
  CHECK(contains(complaint("for animal\nsize 57\nhuge name\n"), "line 2: “size” wants two measures"));
  CHECK(contains(complaint("for animal\nsize 2 x 900\nhuge name\n"), "line 2: A label measures 5 to 300 mm"));
  CHECK(contains(complaint("for animal\nhuge name\nbox prey\n"), "line 3: “box” stands alone"));
  CHECK(contains(complaint("for animal\nboxes many\n"), "line 2: “boxes” wants how many"));
  CHECK(contains(complaint("for animal\nboxes 21\n"), "line 2: “boxes” wants how many"));
  CHECK(contains(complaint("for animal\nhuge my:\n"), "line 2: “my:” is no field"));
  CHECK(contains(complaint(std::string(70'000, 'a')), "is no such file"));
  CHECK(contains(complaint(std::string("for animal\0", 11)), "is no such file"));
}

TEST_CASE("every built-in design is written in the form that keepers use", "[labels]") {
  for (const LabelKind kind : label_kinds()) {
    const std::string word(word_of(kind));
    CAPTURE(word);
    CHECK(label_kind_of(word) == kind);
    CHECK(parse_design(built_in_design_text(kind), word).kind == kind);
    CHECK(built_in_design(kind).rows.front().rank == TextRank::huge);
  }
  CHECK_FALSE(label_kind_of("tub"));
}

TEST_CASE("a design for labels of one size is not printed on others", "[labels]") {
  const Design design = parse_design("for place\nsize 57 x 32\nhuge name", "card.txt");
  const std::vector<Label> labels = {place_label("B-07")};
  CHECK(contains(error_of([&] { sheet_plan(labels, find_sheet("a4-3x8"), {}, &design); }).what(), "57 x 32 mm"));
  CHECK_NOTHROW(roll_plan(labels, {57, 32}, 203, 1, &design));
}

TEST_CASE("two labels that say the same have one content, any change shows", "[labels]") {
  const Design& design = built_in_design(LabelKind::animal_card);
  const Label label = animal_card("C-14");
  CHECK(content_of(design, label) == content_of(design, label));
  Label other = label;
  other.prey = "adult mouse";
  CHECK(content_of(design, other) != content_of(design, label));
  other = label;
  other.sex = LabelSex::male;
  CHECK(content_of(design, other) != content_of(design, label));
  other = label;
  other.payload += "X";
  CHECK(content_of(design, other) != content_of(design, label));
  other = label;
  other.breeder = "is not on this card";
  CHECK(content_of(design, other) == content_of(design, label));
}

TEST_CASE("a long name takes two lines where that makes it larger, and is cut in its middle when all else fails",
          "[labels]") {
  const PangoRuler ruler;
  const auto two = lines_of(lay_out(animal_card("Princess of the Eastern Room"), {70, 37}, {300}, ruler).picture);
  CHECK(two[0] + " " + two[1] == "Princess of the Eastern Room");
  CHECK(lines_of(lay_out(animal_card("24-Okeetee-3"), {99.1, 38.1}, {300}, ruler).picture)[0] == "24-Okeetee-3");
  const Picture cut = lay_out(animal_card(std::string(60, 'W') + "7"), {50, 25}, {300}, ruler).picture;
  for (const Shape& shape : cut.shapes) {
    const auto* line = std::get_if<TextLine>(&shape);
    if (line != nullptr && contains(line->text, "WWW")) CHECK(line->cut == Cut::middle);
  }
}

TEST_CASE("the last part of a line goes whole before the line is cut in its middle, and that is told", "[labels]") {
  const PangoRuler ruler;
  Label young = animal_card("Y-1");
  young.kind = LabelKind::hatchling;
  young.warning.clear();
  young.possible_genes.clear();
  young.hatched = "Aug 2026";
  young.parents = "P-1 × P-2";
  const auto parents_left_out = [&](const LaidOutLabel& laid) {
    return std::count(laid.left_out.begin(), laid.left_out.end(), "the parents");
  };
  const LaidOutLabel small = lay_out(young, {38, 21}, {300}, ruler);
  CHECK(says(small.picture, "hatched Aug 2026"));
  CHECK_FALSE(says(small.picture, "P-1"));
  CHECK(parents_left_out(small) == 1);
  const LaidOutLabel large = lay_out(young, {70, 37}, {300}, ruler);
  CHECK(says(large.picture, "P-1 × P-2"));
  CHECK(parents_left_out(large) == 0);
}

TEST_CASE("on a wide label the marker's box stands at the side, on a very wide one the text in two columns",
          "[labels]") {
  const PangoRuler ruler;
  const Picture wide = lay_out(animal_card("C-14"), {99.1, 38.1}, {300}, ruler).picture;
  for (const Shape& shape : wide.shapes) {
    if (const auto* box = std::get_if<OutlinedBox>(&shape)) CHECK(box->box.height > 30);
  }
  const Picture low = lay_out(animal_card("C-14"), {44.45, 12.7}, {300}, ruler).picture;
  const auto line = [&](const std::string& text) {
    for (const Shape& shape : low.shapes) {
      const auto* found = std::get_if<TextLine>(&shape);
      if (found != nullptr && contains(found->text, text)) return *found;
    }
    throw std::runtime_error("no line says " + text);
  };
  CHECK(line("amel").box.x > line("C-14").box.right());
}

TEST_CASE("emoji are left out and told, a script without a font is told, others are drawn", "[labels]") {
  const PangoRuler ruler;
  const LaidOutLabel emoji = lay_out(place_label("Noodle 🐍❤️"), {70, 37}, {300}, ruler);
  CHECK(contains(emoji.no_font, "🐍"));
  CHECK(lay_out(place_label("春の小川 نجمة ฟ้าใส שלום"), {70, 37}, {300}, ruler).no_font.empty());
  PrintWarnings warnings;
  warnings.add(place_label("Noodle 🐍"), emoji);
  REQUIRE(warnings.texts().size() == 1);
  CHECK(contains(warnings.texts()[0], "No font on this computer has “🐍"));
}

TEST_CASE("labels are black and white: nothing is told by colour, so red light takes nothing away", "[labels]") {
  const PangoRuler ruler;
  for (const LabelKind kind : label_kinds()) {
    Label label = animal_card("C-14");
    label.kind = kind;
    for (const Shape& shape : lay_out(label, {70, 37}, {300}, ruler).picture.shapes) {
      const auto black_or_white = [](const Color& color) {
        return color.red == color.green && color.green == color.blue && (color.red == 0 || color.red == 1);
      };
      if (const auto* text = std::get_if<TextLine>(&shape)) CHECK(black_or_white(text->color));
      if (const auto* box = std::get_if<FilledBox>(&shape)) CHECK(black_or_white(box->color));
      if (const auto* ring = std::get_if<Ring>(&shape)) CHECK(black_or_white(ring->color));
    }
  }
}

TEST_CASE("a sheet of the keeper's own is described by its measures", "[labels]") {
  const SheetSpec sheet = parse_sheet(
      "page 8.5 x 11 in\nlabels 3 x 10\nlabel 66.675 x 25.4\nfirst 4.7625 x 12.7\npitch 69.85 x 25.4\n", "mine");
  CHECK(sheet.name == "mine");
  CHECK(std::abs(sheet.page_width - 215.9) < 1e-9);
  CHECK(sheet.cells() == 30);
  const SheetSpec centred = parse_sheet("page 210 x 297\nlabels 2 x 4\nlabel 100 x 70\n", "mine");
  CHECK(centred.left == 5);
  CHECK(centred.top == 8.5);
  CHECK(centred.pitch_x == 100);
}

TEST_CASE("what is wrong in a sheet is told by its line", "[labels]") {
  CHECK(contains(sheet_complaint("page 210 x 297\nlabels 3 x 8\n"), "does not say “label”"));
  CHECK(contains(sheet_complaint("page 210 x 297\nlabels 3 x 8.5\nlabel 5 x 5"),
                 "sheet.txt, line 2: “labels” wants two whole"));
  CHECK(contains(sheet_complaint("pge 210 x 297\n"), "line 1: “pge” is no word of a sheet. Do you mean “page”?"));
  CHECK(contains(sheet_complaint("page 210 x 297\npage 1 x 2\n"), "line 2: “page” is said twice"));
  CHECK(contains(sheet_complaint("page 210 by 297\n"), "line 1: “page” wants two measures"));
  CHECK(contains(sheet_complaint("page 210 x 297\nlabels 3 x 8\nlabel 80 x 30\n"), "outside the page"));
  CHECK(contains(sheet_complaint("page 9000 x 297\nlabels 3 x 8\nlabel 80 x 30\n"), "A page measures"));
  CHECK(contains(sheet_complaint("page nan x 297\nlabels 3 x 8\nlabel 80 x 30\n"), "line 1"));
}

TEST_CASE("labels are repeated side by side, a note may take the first cell, cutting marks stand at the corners",
          "[labels]") {
  const PangoRuler ruler;
  const std::vector<Label> labels = {place_label("B-01"), place_label("B-02")};
  SheetOptions options;
  options.repeat = 3;
  options.note = SheetNote::cell;
  options.cut_marks = true;
  const Pages pages = sheet_pages(labels, find_sheet("a4-3x8"), options, ruler);
  REQUIRE(pages.pictures.size() == 1);
  CHECK(pages.warnings.empty());
  const auto symbols = pages.pictures[0].symbols();
  REQUIRE(symbols.size() == 6);
  for (std::size_t i = 0; i < 6; ++i) CHECK(symbols[i]->payload == labels[i / 3].payload);
  CHECK(symbols[0]->x > 70);  // the first cell holds the note
  CHECK(says(pages.pictures[0], "Print at 100 %"));
  CHECK(count_of<Stroke>(pages.pictures[0]) >= 6 * 8);
  options.note = SheetNote::margin;
  const Pages noteless = sheet_pages(labels, find_sheet("a4-3x8"), options, ruler);
  REQUIRE(noteless.warnings.size() == 1);
  CHECK(contains(noteless.warnings[0], "--note cell"));
  for (const SheetSpec& sheet : built_in_sheets()) {
    if (sheet.name == "a4-3x8") continue;
    CAPTURE(sheet.name);
    const Pages with_note = sheet_pages(labels, sheet, {}, ruler);
    CHECK(says(with_note.pictures[0], "Print at 100 %"));
  }
  options.repeat = 0;
  CHECK(error_of([&] { sheet_plan(labels, find_sheet("a4-3x8"), options); }).fault() == core::Fault::usage);
}

TEST_CASE("strips put each place over its tub and begin anew with each rack", "[labels]") {
  const PangoRuler ruler;
  std::vector<Label> places;
  for (int i = 0; i < 10; ++i) {
    places.push_back(place_label("B-" + std::to_string(i)));
    places.back().subtitle = i < 7 ? "Rack B" : "Rack C";
  }
  const PagePlan plan = strip_plan(places, Paper::a4, {70, 22});
  const MadePage page = plan.make(0, ruler);
  const auto symbols = page.picture.symbols();
  REQUIRE(symbols.size() == 10);
  for (std::size_t i = 1; i < 4; ++i) CHECK(std::abs(symbols[i]->x - symbols[i - 1]->x - 70) < 0.2);
  CHECK(symbols[4]->y > symbols[3]->y + 22);  // four to a line of 281 mm
  CHECK(symbols[7]->y > symbols[6]->y + 22);  // another rack
  CHECK(error_of([&] { strip_plan(places, Paper::a4, {20, 22}); }).fault() == core::Fault::usage);
  CHECK(error_of([&] { strip_plan(places, Paper::a4, {70, 5}); }).fault() == core::Fault::usage);
}

TEST_CASE("a PDF asks to be printed at its own size, in a well-formed update of its catalogue", "[labels]") {
  Picture page;
  page.width = page.height = 50;
  page.shapes.emplace_back(FilledBox{{10, 10, 10, 10}, kBlack, 0});
  const std::string pdf = draw_pdf({page, page}, "Labels");
  CHECK(contains(pdf, "/PrintScaling /None"));
  // Source: ISO 32000-1, 7.5: the last startxref names the newest table, whose entry names the catalogue's new place.
  const std::size_t table = std::stoul(pdf.substr(pdf.rfind("startxref") + 10));
  REQUIRE(pdf.substr(table, 4) == "xref");
  const std::size_t entry = pdf.find('\n', pdf.find('\n', table) + 1) + 1;
  const std::size_t catalogue = std::stoul(pdf.substr(entry, 10));
  const std::size_t root = std::stoul(pdf.substr(pdf.rfind("/Root") + 6));
  CHECK(pdf.substr(catalogue, 20).starts_with(std::to_string(root) + " 0 obj"));
  const std::size_t before = std::stoul(pdf.substr(pdf.rfind("/Prev") + 6));
  CHECK(pdf.substr(before, 4) == "xref");
}
