// Where labels lie on paper, measured in the PDF as poppler draws it at 600 dpi.
#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <vector>

#include "labels/draw/text.h"
#include "labels/labels.h"
#include "tests/support/catch.h"
#include "tests/support/program.h"
#include "tests/unit/labels_support.h"

using namespace rackside;
using namespace rackside::labels;
using rackside::tests::Folder;

namespace {

constexpr int kDpi = 600;
constexpr double kDotsPerMm = kDpi / 25.4;
constexpr double kAllowed = 0.1;  ///< millimetres

bool poppler_is_there() {
  if (std::system("command -v pdftoppm >/dev/null 2>&1") == 0) return true;
  WARN("pdftoppm is missing (poppler-utils): no page was measured");
  return false;
}

/// A binary PGM of one page.
struct Page {
  int width = 0;
  int height = 0;
  std::string pixels;
  double dark(int x, int y) const {
    if (x < 0 || y < 0 || x >= width || y >= height) return 0;
    return 255 -
           static_cast<unsigned char>(
               pixels[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x)]);
  }
};

Page render(const std::string& pdf) {
  const Folder folder(Folder::On::memory);
  tests::write_text(folder / "page.pdf", pdf);
  const tests::Run run = tests::run_program(
      "pdftoppm", {"-r", std::to_string(kDpi), "-gray", "-singlefile", folder / "page.pdf", folder / "page"});
  CHECK(run.err.empty());  // poppler complains of whatever is not well-formed
  std::string pgm = tests::read_text(folder / "page.pgm");
  Page page;
  int most = 0;
  int head = 0;
  REQUIRE(std::sscanf(pgm.c_str(), "P5 %d %d %d%n", &page.width, &page.height, &most, &head) == 3);
  page.pixels = pgm.substr(static_cast<std::size_t>(head) + 1);
  return page;
}

/// The middle of the dark within a millimetre of `mm`, along a short line beside an edge's mark; NAN where there is
/// none.
template <class Dark>
double mark_near(double mm, Dark dark) {
  double sum = 0;
  double weight = 0;
  const int middle = static_cast<int>(std::lround(mm * kDotsPerMm));
  for (int at = middle - 23; at <= middle + 23; ++at) {
    const double ink = dark(at);
    sum += ink * (at + 0.5);
    weight += ink;
  }
  return weight > 60 ? sum / weight / kDotsPerMm : NAN;
}

/// True where the words of the calibration page cover the outlines.
bool under_words(const SheetSpec& sheet, double x, double y) {
  return std::abs(x - sheet.page_width / 2) < 76 && y > sheet.page_height / 2 - 20 && y < sheet.page_height / 2 + 24;
}
enum class Words { none, in_the_middle };

/// Beside the corner, on the arm of the cross: outside the label where there is room, else inside.
double worst_of(const Page& page, const SheetSpec& sheet, const SheetOptions& options, Words words = Words::none) {
  double worst = 0;
  constexpr double kBeside = 0.9;
  for (int cell = 0; cell < sheet.cells(); ++cell) {
    const CellPlace place = place_of(sheet, options, static_cast<std::size_t>(cell));
    for (const double x : {place.x, place.x + sheet.label_width}) {
      for (const double y : {place.y, place.y + sheet.label_height}) {
        if (words == Words::in_the_middle && under_words(sheet, x, y)) continue;
        const double inside_x = x > place.x ? x - kBeside : x + kBeside;
        const double inside_y = y > place.y ? y - kBeside : y + kBeside;
        const double found_x =
            mark_near(x, [&](int at) { return page.dark(at, static_cast<int>(inside_y * kDotsPerMm)); });
        const double found_y =
            mark_near(y, [&](int at) { return page.dark(static_cast<int>(inside_x * kDotsPerMm), at); });
        CAPTURE(cell, x, y);
        // A mark at the very edge of the page is half beyond it.
        const bool cut_x = x < 0.2 || x > sheet.page_width - 0.2;
        const bool cut_y = y < 0.2 || y > sheet.page_height - 0.2;
        if (!cut_x) REQUIRE_FALSE(std::isnan(found_x));
        if (!cut_y) REQUIRE_FALSE(std::isnan(found_y));
        if (!cut_x) worst = std::max(worst, std::abs(found_x - x));
        if (!cut_y) worst = std::max(worst, std::abs(found_y - y));
      }
    }
  }
  return worst;
}

std::vector<Label> labels_for(const SheetSpec& sheet) {
  std::vector<Label> labels;
  for (int i = 0; i < sheet.cells(); ++i) labels.push_back(tests::place_label("B-" + std::to_string(i + 1)));
  return labels;
}

}  // namespace

TEST_CASE("every label's edges lie within a tenth of a millimetre of where the sheet has them", "[labels]") {
  if (!poppler_is_there()) return;
  for (const SheetSpec& sheet : built_in_sheets()) {
    SheetOptions options;
    options.cut_marks = true;
    const Page page = render(print_sheet(labels_for(sheet), sheet, options).bytes);
    CAPTURE(sheet.name);
    CHECK(page.width == static_cast<int>(std::lround(sheet.page_width * kDotsPerMm)));
    CHECK(page.height == static_cast<int>(std::lround(sheet.page_height * kDotsPerMm)));
    CHECK(worst_of(page, sheet, options) < kAllowed);
  }
}

TEST_CASE("offsets of half a millimetre are found again on the page", "[labels]") {
  if (!poppler_is_there()) return;
  const SheetSpec sheet = find_sheet("a4-2x4");
  SheetOptions options;
  options.cut_marks = true;
  options.offset_x = 1.5;
  options.offset_y = -0.5;
  const Page page = render(print_sheet(labels_for(sheet), sheet, options).bytes);
  CHECK(worst_of(page, sheet, options) < kAllowed);
  options.offset_x = 1.0;
  CHECK(std::abs(worst_of(page, sheet, options) - 0.5) < kAllowed);  // the measuring sees half a millimetre
}

TEST_CASE("the calibration page's outlines lie on the labels' edges", "[labels]") {
  if (!poppler_is_there()) return;
  for (const char* name : {"a4-3x7", "letter-2x5"}) {
    const SheetSpec sheet = find_sheet(name);
    const Page page = render(print_plan(calibration_plan(sheet, {})).bytes);
    CAPTURE(name);
    CHECK(worst_of(page, sheet, {}, Words::in_the_middle) < kAllowed);
  }
}

TEST_CASE("no hairline is left between dark modules, at a resolution that no grid was made for", "[labels]") {
  if (!poppler_is_there()) return;
  const std::vector<Label> labels = {tests::animal_card("C-14")};
  const PagePlan plan = sheet_plan(labels, find_sheet("a4-3x7"), {});
  const Picture picture = plan.make(0, PangoRuler()).picture;
  const PlacedSymbol& symbol = *picture.symbols().at(0);
  const Page page = render(print_plan(plan).bytes);
  int light = 0;
  int seen = 0;
  for (int row = 0; row < symbol.symbol.size; ++row) {
    for (int column = 0; column + 1 < symbol.symbol.size; ++column) {
      if (!symbol.symbol.dark(column, row) || !symbol.symbol.dark(column + 1, row)) continue;
      // Across the seam between two dark modules, from the middle of one to that of the other.
      const int y = static_cast<int>((symbol.y + (row + 0.5) * symbol.module) * kDotsPerMm);
      const int first = static_cast<int>((symbol.x + (column + 0.5) * symbol.module) * kDotsPerMm);
      const int last = static_cast<int>((symbol.x + (column + 1.5) * symbol.module) * kDotsPerMm);
      for (int x = first; x <= last; ++x, ++seen) light += page.dark(x, y) < 255 ? 1 : 0;
    }
  }
  CHECK(seen > 1000);
  CHECK(light == 0);
}
