#include <algorithm>
#include <cmath>
#include <set>
#include <string>

#include "labels/design/reach.h"
#include "labels/draw/draw.h"
#include "labels/draw/text.h"
#include "labels/print/press.h"
#include "labels/proof/proof.h"
#include "labels/proof/wear.h"
#include "labels/read/read.h"
#include "tests/support/catch.h"
#include "tests/unit/labels_support.h"

using namespace rackside;
using namespace rackside::labels;
using rackside::tests::animal_card;
using rackside::tests::contains;
using rackside::tests::error_of;
using rackside::tests::place_label;

namespace {

PlacedSymbol placed(const std::string& payload, double module) {
  return {8 * module, 8 * module, module, make_symbol(payload), payload, "B-07"};
}

Picture picture_of(const PlacedSymbol& symbol) {
  Picture picture;
  picture.width = picture.height = (symbol.symbol.size + 16) * symbol.module;
  picture.shapes.emplace_back(symbol);
  return picture;
}

std::set<int> codewords_hit(const Symbol& symbol) {
  const std::vector<int> map = codeword_map(symbol);
  std::set<int> hit;
  for (const auto& [column, row] : smeared_modules(symbol))
    hit.insert(map.at(static_cast<std::size_t>(row * symbol.size + column)));
  return hit;
}

/// Halves a picture's size `times` over by averaging, then blurs a little: what a lens makes of it.
GrayImage seen_with(const GrayImage& picture, int times) {
  GrayImage small(picture.width / times, picture.height / times);
  for (int y = 0; y < small.height; ++y) {
    for (int x = 0; x < small.width; ++x) {
      int sum = 0;
      for (int j = 0; j < times; ++j) {
        for (int i = 0; i < times; ++i) sum += picture.at(x * times + i, y * times + j);
      }
      small.at(x, y) = static_cast<std::uint8_t>(sum / (times * times));
    }
  }
  return small;
}

}  // namespace

TEST_CASE("a smear stays within what the symbol's level corrects, and spares the patterns", "[labels]") {
  // Source: ISO/IEC 18004, error correction characteristics: codewords that are corrected, per block: 1-H 8, 1-Q 6,
  // 1-M 5 (of 5 allowed, one kept for misreads is 4), 2-M 8, 3-Q 9 in each of two blocks, 3-M 13.
  const struct {
    std::size_t characters;
    std::size_t corrected;
  } rows[] = {{10, 8}, {16, 6}, {20, 4}, {38, 8}, {47, 18}, {61, 13}};
  for (const auto& row : rows) {
    const Symbol symbol = make_symbol(std::string(row.characters, 'A'));
    CAPTURE(symbol.version, letter_of(symbol.level));
    const std::set<int> hit = codewords_hit(symbol);
    CHECK(hit.size() >= 1);
    CHECK(hit.size() <= row.corrected);
    CHECK_FALSE(hit.contains(-1));
  }
  CHECK(codewords_hit(make_symbol("ABCDEFGHIJ")).size() == 3);  // half of 30 % of 26
}

TEST_CASE("print grows by the dots that were asked for, parts of a dot as grey", "[labels]") {
  GrayImage picture(9, 9);
  picture.at(4, 4) = 0;
  const GrayImage one = grown(picture, 1);
  CHECK(one.at(3, 4) == 0);
  CHECK(one.at(4, 5) == 0);
  CHECK(one.at(3, 3) == 255);
  const GrayImage part = grown(picture, 1.5);
  CHECK(part.at(2, 4) >= 126);
  CHECK(part.at(2, 4) <= 128);
  CHECK(part.at(1, 4) == 255);
  CHECK(grown(picture, 0).pixels == picture.pixels);
}

TEST_CASE("a symbol that reads when fresh and not when worn is not printed", "[labels]") {
  const PlacedSymbol symbol = placed(tests::some_code(core::CodeKind::place).str(), 25.4 / 300 * 6);
  const Picture page = picture_of(symbol);
  GrayImage raster = draw_gray(page, 300);
  CHECK_NOTHROW(prove(page, raster, 300, "page 1"));
  CHECK_NOTHROW(prove_drawn(page, 300, "page 1"));
  // Six codewords spoilt from the left: the symbol corrects that, but not three more by the smear.
  const std::vector<int> map = codeword_map(symbol.symbol);
  const std::set<int> smeared = codewords_hit(symbol.symbol);
  std::set<int> spoilt;
  for (int column = 0; column < symbol.symbol.size; ++column) {
    for (int row = 9; row < symbol.symbol.size; ++row) {
      const int codeword = map.at(static_cast<std::size_t>(row * symbol.symbol.size + column));
      if (codeword < 0 || smeared.contains(codeword)) continue;
      if (spoilt.size() == 7 && !spoilt.contains(codeword)) continue;
      spoilt.insert(codeword);
      for (int y = 0; y < 6; ++y) {
        for (int x = 0; x < 6; ++x) {
          const int left = static_cast<int>(std::lround(symbol.x * 300 / 25.4)) + column * 6 + x;
          const int top = static_cast<int>(std::lround(symbol.y * 300 / 25.4)) + row * 6 + y;
          raster.at(left, top) = static_cast<std::uint8_t>(255 - raster.at(left, top));
        }
      }
    }
  }
  const core::Error error = error_of([&] { prove(page, raster, 300, "page 1"); });
  CHECK(error.fault() == core::Fault::nothing_read);
  CHECK(contains(error.what(), "B-07 on page 1 does not read once print has spread and a thumb has smeared it"));
}

TEST_CASE("the parts that are proven are those of the page's raster, pixel for pixel", "[labels]") {
  const PangoRuler ruler;
  const std::vector<Label> labels = {place_label("B-07"), animal_card("C-14"), animal_card("نجمة")};
  const Picture page = sheet_pages(labels, find_sheet("a4-3x8"), {}, ruler).pictures.at(0);
  const GrayImage whole = draw_gray(page, kPageDpi);
  for (const PlacedSymbol* symbol : page.symbols()) {
    const Box box = symbol->box_with_quiet();
    const double scale = kPageDpi / 25.4;
    const PixelPart part{static_cast<int>(box.x * scale), static_cast<int>(box.y * scale),
                         static_cast<int>(box.width * scale) + 40, static_cast<int>(box.height * scale) + 40};
    const GrayImage drawn = draw_gray_part(page, kPageDpi, part);
    int wrong = 0;
    // The symbol with its quiet zone. Beside it glyphs are set to fractions of a pixel from the surface's corner, and
    // how far their greys differ then is up to the version of the drawing library.
    for (int y = 0; y + 40 < part.height; ++y) {
      for (int x = 0; x + 40 < part.width; ++x) {
        wrong += std::abs(drawn.at(x, y) - whole.at(part.left + x, part.top + y)) > 40 ? 1 : 0;
      }
    }
    CHECK(wrong == 0);
  }
}

TEST_CASE("a print of many pages is the same by one thread and by several", "[labels]") {
  std::vector<Label> labels;
  for (int i = 0; i < 60; ++i) labels.push_back(animal_card("C-" + std::to_string(i)));
  const PagePlan plan = sheet_plan(labels, find_sheet("a4-2x7"), {});
  std::string alone;
  std::string together;
  std::size_t told = 0;
  const PressReport one = print_pdf(plan, [&](std::string_view bytes) { alone += bytes; }, {.threads = 1});
  const PressReport three = print_pdf(plan, [&](std::string_view bytes) { together += bytes; },
                                      {.threads = 3, .progress = [&](std::size_t done, std::size_t all) {
                                         CHECK(done == ++told);
                                         CHECK(all == 5);
                                       }});
  CHECK(told == 5);
  CHECK(alone == together);
  CHECK(one.proven == tests::payloads_of(labels));
  CHECK(three.proven == one.proven);
  CHECK(one.draw_seconds > 0);
  CHECK(one.proof_seconds > 0);
}

TEST_CASE("a print ends with the first page that fails, or that cannot be written", "[labels]") {
  std::vector<Label> labels;
  for (int i = 0; i < 40; ++i) labels.push_back(place_label("B-" + std::to_string(i)));
  labels[30].payload = std::string(2300, 'A');  // far too fine a symbol
  const PagePlan plan = sheet_plan(labels, find_sheet("a4-2x7"), {});
  const core::Error error = error_of([&] { print_pdf(plan, [](std::string_view) {}, {.threads = 2}); });
  CHECK(error.fault() == core::Fault::bad_input);
  CHECK(contains(error.what(), "B-30"));
  labels.resize(30);
  const PagePlan good = sheet_plan(labels, find_sheet("a4-2x7"), {});
  std::size_t taken = 0;
  const core::Error full = error_of([&] {
    print_pdf(good, [&](std::string_view bytes) {
      if ((taken += bytes.size()) > 2000) throw core::Error(core::Fault::disk_full, "no room");
    });
  });
  CHECK(full.fault() == core::Fault::disk_full);
}

TEST_CASE("what is said of the distance is the pinhole camera's, and our reader reads at that scale", "[labels]") {
  // A module of 0.5 mm at the distance that is said is 3 pixels wide: f * m / d.
  CHECK(std::abs(kPhone.focal_pixels * 0.5 / reach_mm(kPhone, 0.5) - 3.0) < 1e-9);
  CHECK(std::abs(kPhone.focal_pixels - 1920.0 * 26 / 36) < 0.1);
  CHECK(std::abs(kHandheld.focal_pixels - 640 / std::tan(21 * 3.14159265358979 / 180)) < 0.5);
  CHECK(contains(reach_text(0.5), "modules of 0.50 mm"));
  CHECK(contains(reach_text(0.5), "a phone reads them up to about 23 cm"));
  // Drawn at 12 pixels a module, then seen with 3 (12 / 4), a hundred times.
  for (int i = 0; i < 100; ++i) {
    const PlacedSymbol symbol = placed(tests::some_code(core::CodeKind::animal).str(), 25.4 / 300 * 12);
    const GrayImage seen = seen_with(draw_gray(picture_of(symbol), 300), 4);
    const PictureReading reading = read_symbols(seen);
    REQUIRE(reading.symbols.size() == 1);
    CHECK(reading.symbols[0].text == symbol.payload);
  }
}
