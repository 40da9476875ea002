#include <cmath>
#include <set>
#include <string>
#include <vector>

#include "labels/design/layout.h"
#include "labels/draw/draw.h"
#include "labels/draw/text.h"
#include "labels/image/png.h"
#include "labels/labels.h"
#include "labels/proof/proof.h"
#include "tests/support/catch.h"
#include "tests/unit/labels_support.h"

using namespace rackside;
using namespace rackside::labels;
using rackside::tests::animal_card;
using rackside::tests::contains;
using rackside::tests::error_of;
using rackside::tests::place_label;
using rackside::tests::scan_line;

namespace {

std::vector<std::string> texts_in(const std::string& picture) {
  std::vector<std::string> texts;
  for (const ReadSymbol& symbol : read_image(core::as_bytes(picture), "the picture").symbols) {
    texts.push_back(symbol.text);
  }
  return texts;
}

std::vector<Label> many(int count) {
  std::vector<Label> labels;
  for (int i = 0; i < count; ++i) {
    const std::string name = "B-" + std::to_string(i + 1);
    labels.push_back(i % 2 == 0 ? place_label(name) : animal_card(name));
  }
  return labels;
}

bool near(double a, double b, double slack = 1e-6) {
  return std::abs(a - b) < slack;
}

std::uint32_t big_endian(const std::string& bytes, std::size_t at) {
  std::uint32_t value = 0;
  for (std::size_t i = 0; i < 4; ++i) value = value << 8 | static_cast<std::uint8_t>(bytes.at(at + i));
  return value;
}

}  // namespace

TEST_CASE("every design reads back from its own bits at 203 and 300 dpi, bare and as a link", "[labels]") {
  const LabelSize sizes[] = {{70, 37}, {38, 21}, {48.5, 25.4}, {57, 32}, {62, 29}, {50, 25}, {100, 50}, {101.6, 50.8}};
  for (const int dpi : {203, 300}) {
    for (const LabelSize size : sizes) {
      for (const std::string_view host : {std::string_view(), std::string_view(tests::kHost)}) {
        for (const Label& label : {place_label("B-07", host), animal_card("24-Okeetee-3", host)}) {
          CAPTURE(dpi, size.width_mm, size.height_mm, label.payload);
          const Printed printed = print_label_png(label, size, dpi);
          CHECK(printed.proven == std::vector<std::string>{label.payload});
          CHECK(texts_in(printed.bytes) == printed.proven);
        }
      }
    }
  }
}

TEST_CASE("a label picture has one bit a pixel, states its resolution, and its modules are whole dots", "[labels]") {
  for (const int dpi : {203, 300}) {
    const Label label = animal_card("C-14");
    const std::string png = print_label_png(label, {57, 32}, dpi).bytes;
    // Source: PNG specification (ISO/IEC 15948): IHDR at byte 8, pHYs in pixels a metre with unit 1.
    CHECK(big_endian(png, 16) == static_cast<std::uint32_t>(std::lround(57 * dpi / 25.4)));
    CHECK(big_endian(png, 20) == static_cast<std::uint32_t>(std::lround(32 * dpi / 25.4)));
    CHECK(png.at(24) == 1);  // bit depth
    CHECK(png.at(25) == 0);  // grey
    const std::size_t resolution = png.find("pHYs");
    REQUIRE(resolution != std::string::npos);
    CHECK(big_endian(png, resolution + 4) == static_cast<std::uint32_t>(std::lround(dpi / 0.0254)));
    CHECK(png.at(resolution + 12) == 1);

    const LaidOutLabel laid_out = lay_out(label, {57, 32}, {dpi}, PangoRuler());
    const PlacedSymbol& symbol = *laid_out.picture.symbols().at(0);
    const GrayImage image = read_png(core::as_bytes(png), "the label");
    const int left = static_cast<int>(std::lround(symbol.x * dpi / 25.4));
    const int top = static_cast<int>(std::lround(symbol.y * dpi / 25.4));
    int wrong = 0;
    const int dots = laid_out.module_dots;
    for (int y = -4 * dots; y < (symbol.symbol.size + 4) * dots; ++y) {
      for (int x = -4 * dots; x < (symbol.symbol.size + 4) * dots; ++x) {
        const int column = static_cast<int>(std::floor(static_cast<double>(x) / dots));
        const int row = static_cast<int>(std::floor(static_cast<double>(y) / dots));
        const bool inside = column >= 0 && row >= 0 && column < symbol.symbol.size && row < symbol.symbol.size;
        const bool dark = inside && symbol.symbol.dark(column, row);
        if ((image.at(left + x, top + y) < 128) != dark) ++wrong;
      }
    }
    CHECK(wrong == 0);
  }
}

TEST_CASE("every built-in sheet is proven, full and with the pages that follow", "[labels]") {
  std::set<std::string> names;
  for (const SheetSpec& sheet : built_in_sheets()) {
    CAPTURE(sheet.name);
    names.insert(sheet.name);
    const std::vector<Label> labels = many(sheet.cells() + 1);
    const Printed printed = print_sheet(labels, sheet);
    CHECK(printed.pages == 2);
    CHECK(printed.proven == tests::payloads_of(labels));
    CHECK(printed.bytes.substr(0, 5) == "%PDF-");
  }
  for (const char* name : {"a4-3x8", "a4-3x7", "a4-2x7", "a4-4x10", "letter-3x10", "letter-2x5"})
    CHECK(names.count(name));
}

TEST_CASE("a built-in sheet fills its page: labels do not overlap and margins are alike", "[labels]") {
  for (const SheetSpec& sheet : built_in_sheets()) {
    CAPTURE(sheet.name);
    CHECK_NOTHROW(check_sheet(sheet, {}));
    CHECK(find_sheet(sheet.name).cells() == sheet.columns * sheet.rows);
    const double right = sheet.page_width - (sheet.left + (sheet.columns - 1) * sheet.pitch_x + sheet.label_width);
    const double bottom = sheet.page_height - (sheet.top + (sheet.rows - 1) * sheet.pitch_y + sheet.label_height);
    CHECK(std::abs(right - sheet.left) < 0.6);
    CHECK(std::abs(bottom - sheet.top) < 0.6);
  }
}

TEST_CASE("a sheet starts at a cell, moves by half millimetres, and goes on from the first cell", "[labels]") {
  const SheetSpec& sheet = find_sheet("a4-3x7");
  const SheetOptions options{20, 1.5, -0.5};
  CHECK(near(place_of(sheet, options, 0).x, 7.25 + 66 + 1.5));
  CHECK(near(place_of(sheet, options, 0).y, 15.15 + 6 * 38.1 - 0.5));
  CHECK(near(place_of(sheet, options, 1).x, 7.25 + 2 * 66 + 1.5));
  CHECK(place_of(sheet, options, 2).page == 1);
  CHECK(near(place_of(sheet, options, 2).x, 7.25 + 1.5));
  CHECK(print_sheet(many(3), sheet, options).pages == 2);
}

TEST_CASE("where labels lie is measured in the drawn page", "[labels]") {
  const SheetSpec& sheet = find_sheet("a4-3x8");
  const std::vector<Label> labels = many(24);
  const Pages pages = sheet_pages(labels, sheet, {1, 0.5, 0}, PangoRuler());
  REQUIRE(pages.pictures.size() == 1);
  const auto symbols = read_symbols(draw_gray(pages.pictures[0], 300)).symbols;
  REQUIRE(symbols.size() == 24);
  for (std::size_t i = 0; i < 24; ++i) {
    CAPTURE(i);
    CHECK(symbols[i].text == labels[i].payload);
    const double x = symbols[i].corners[0].x * 25.4 / 300 - 0.5 - static_cast<double>(i % 3) * 70;
    const double y = symbols[i].corners[0].y * 25.4 / 300 - 0.5 - static_cast<double>(i / 3) * 37;
    // Every symbol lies alike in its cell, as well as the reader tells corners: to half a millimetre.
    CHECK(near(x, symbols[0].corners[0].x * 25.4 / 300 - 0.5, 0.5));
    CHECK(near(y, symbols[0].corners[0].y * 25.4 / 300 - 0.5, 0.5));
  }
}

TEST_CASE("equal labels give equal bytes", "[labels]") {
  const std::vector<Label> labels = many(5);
  CHECK(print_sheet(labels, find_sheet("a4-3x8")).bytes == print_sheet(labels, find_sheet("a4-3x8")).bytes);
  CHECK(print_label_png(labels[0], {57, 32}, 203).bytes == print_label_png(labels[0], {57, 32}, 203).bytes);
}

TEST_CASE("a scan sheet holds its lines on A4 and Letter, far apart", "[labels]") {
  std::vector<Label> lines;
  for (int i = 0; i < 12; ++i) lines.push_back(scan_line("fed " + std::to_string(i) + " small rat"));
  for (const Paper paper : {Paper::a4, Paper::letter}) {
    const Printed printed = print_scan_sheet("Evening round", lines, paper);
    CHECK(printed.proven == tests::payloads_of(lines));
    CHECK(printed.warnings.empty());
    const Pages pages = scan_sheet_pages("Evening round", lines, paper, PangoRuler());
    for (const Picture& page : pages.pictures) {
      const auto symbols = page.symbols();
      for (std::size_t i = 1; i < symbols.size(); ++i) {
        CHECK(symbols[i]->box().y - symbols[i - 1]->box().bottom() > 8);  // millimetres of white between them
      }
    }
  }
}

TEST_CASE("a page that does not read is not printed, and the label is named", "[labels]") {
  const Pages pages = sheet_pages(many(3), find_sheet("a4-3x8"), {}, PangoRuler());
  const Picture& page = pages.pictures[0];
  GrayImage raster = draw_gray(page, kPageDpi);
  CHECK_NOTHROW(prove(page, raster, kPageDpi, "page 1"));

  // Cover most of the second label's symbol, as a smear would.
  const Box box = page.symbols()[1]->box();
  const double scale = kPageDpi / 25.4;
  GrayImage smeared = raster;
  for (int y = static_cast<int>(box.y * scale); y < box.bottom() * scale; ++y) {
    for (int x = static_cast<int>((box.x + 6) * scale); x < box.right() * scale; ++x) smeared.at(x, y) = 0;
  }
  const core::Error error = error_of([&] { prove(page, smeared, kPageDpi, "page 1"); });
  CHECK(error.fault() == core::Fault::nothing_read);
  CHECK(contains(error.what(), "label of B-2 on page 1"));

  // Another page's raster reads well, but says something else.
  const Pages others = sheet_pages(many(3), find_sheet("a4-3x8"), {}, PangoRuler());
  const core::Error swapped =
      error_of([&] { prove(page, draw_gray(others.pictures[0], kPageDpi), kPageDpi, "page 1"); });
  CHECK(swapped.fault() == core::Fault::nothing_read);
  CHECK(contains(swapped.what(), "reads as"));
}

TEST_CASE("bad sheets, options and sizes are refused with the reason", "[labels]") {
  const SheetSpec good = find_sheet("a4-3x7");
  const auto fault = [&](const SheetSpec& sheet, const SheetOptions& options) {
    return error_of([&] { check_sheet(sheet, options); }).fault();
  };
  CHECK(fault(good, {0, 0, 0}) == core::Fault::usage);
  CHECK(fault(good, {22, 0, 0}) == core::Fault::usage);
  CHECK(fault(good, {1, 0.3, 0}) == core::Fault::usage);
  CHECK(fault(good, {1, 0, 50}) == core::Fault::usage);
  SheetSpec bad = good;
  bad.pitch_x = 60;
  CHECK(contains(error_of([&] { check_sheet(bad, {}); }).what(), "overlap"));
  bad = good;
  bad.rows = 8;
  CHECK(contains(error_of([&] { check_sheet(bad, {}); }).what(), "outside the page"));
  bad = good;
  bad.label_width = NAN;
  CHECK(fault(bad, {}) == core::Fault::bad_input);
  const core::Error unknown = error_of([] { find_sheet("a4-9x9"); });
  CHECK(unknown.fault() == core::Fault::usage);
  CHECK(contains(unknown.what(), "a4-3x8"));
  CHECK(error_of([&] { print_sheet({}, good); }).fault() == core::Fault::bad_input);
  CHECK(error_of([] { print_label_png(place_label("B-1"), {0, 20}, 203); }).fault() == core::Fault::usage);
  CHECK(error_of([] { print_label_png(place_label("B-1"), {50, 20}, 20); }).fault() == core::Fault::usage);
}

TEST_CASE("an SVG draws each dark run of a row and of a column once, and no run that another covers", "[labels]") {
  const Label label = place_label("B-07");
  const std::string svg = print_label_svg(label, {70, 37}).bytes;
  CHECK(contains(svg, "<svg"));
  const Symbol symbol = make_symbol(label.payload);
  const auto dark = [&](int column, int row) {
    return column >= 0 && row >= 0 && column < symbol.size && row < symbol.size && symbol.dark(column, row);
  };
  std::size_t runs = 0;
  for (int row = 0; row < symbol.size; ++row) {
    for (int column = 0; column < symbol.size; ++column) {
      if (!dark(column, row)) continue;
      const bool in_row = dark(column - 1, row) || dark(column + 1, row);
      const bool in_column = dark(column, row - 1) || dark(column, row + 1);
      if (in_row && !dark(column - 1, row)) ++runs;
      if (in_column && !dark(column, row - 1)) ++runs;
      if (!in_row && !in_column) ++runs;
    }
  }
  // The symbol is one path, of as many closed parts as it has runs.
  std::size_t most = 0;
  for (std::size_t at = svg.find("<path"); at != std::string::npos; at = svg.find("<path", at + 1)) {
    const std::string path = svg.substr(at, svg.find("/>", at) - at);
    std::size_t parts = 0;
    for (const char c : path) parts += c == 'Z' ? 1 : 0;
    most = std::max(most, parts);
  }
  CHECK(most == runs);
}
