#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "labels/design/layout.h"
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

const std::vector<LabelSize> kSizes = {{70, 37},       {63.5, 38.1},  {99.1, 38.1},  {48.5, 25.4}, {38.1, 21.2},
                                       {66.675, 25.4}, {101.6, 50.8}, {38, 21},      {57, 32},     {62, 29},
                                       {50, 25},       {100, 50},     {101.6, 25.4}, {99.1, 67.7}, {44.45, 12.7}};

std::vector<std::string> words_of(const std::string& name) {
  return {name, name + " 2", name + " 3"};
}

/// Every field filled with one name, the worst that a keeper can write.
Label full_of(const std::string& name, std::string_view host) {
  Label label = animal_card(name, host);
  label.prey = name;
  label.warning = name;
  label.genes = words_of(name);
  label.possible_genes = words_of(name);
  label.parents = name + " × " + name;
  return label;
}

Box around(const Stroke& stroke) {
  const double half = stroke.width / 2;
  const double left = std::min(stroke.x1, stroke.x2) - half;
  const double top = std::min(stroke.y1, stroke.y2) - half;
  return {left, top, std::abs(stroke.x2 - stroke.x1) + stroke.width, std::abs(stroke.y2 - stroke.y1) + stroke.width};
}

struct Inked {
  std::string what;
  Box box;
  bool is_sign = false;  ///< parts of the sex sign touch each other
};

/// What each shape covers: a text its real ink, a symbol its quiet zone too.
std::vector<Inked> inked(const Picture& picture, const PangoRuler& ruler) {
  std::vector<Inked> all;
  for (const Shape& shape : picture.shapes) {
    if (const auto* text = std::get_if<TextLine>(&shape)) all.push_back({text->text, ruler.ink_box(*text)});
    if (const auto* box = std::get_if<OutlinedBox>(&shape)) all.push_back({"marker box", box->box});
    if (const auto* box = std::get_if<FilledBox>(&shape)) all.push_back({"band", box->box});
    if (const auto* symbol = std::get_if<PlacedSymbol>(&shape)) all.push_back({"symbol", symbol->box_with_quiet()});
    if (const auto* stroke = std::get_if<Stroke>(&shape)) all.push_back({"sign", around(*stroke), true});
    if (const auto* ring = std::get_if<Ring>(&shape)) {
      const double reach = ring->radius + ring->stroke / 2;
      all.push_back({"sign", {ring->x - reach, ring->y - reach, 2 * reach, 2 * reach}, true});
    }
  }
  return all;
}

bool holds(const Box& outer, const Box& inner, double slack) {
  return inner.x >= outer.x - slack && inner.y >= outer.y - slack && inner.right() <= outer.right() + slack &&
         inner.bottom() <= outer.bottom() + slack;
}

/// The first fault of a layout, in words.
std::optional<std::string> fault_of(const Picture& picture, const PangoRuler& ruler) {
  constexpr double kSlack = 0.05;  // millimetres: half a dot at 300 dpi
  const std::vector<Inked> all = inked(picture, ruler);
  const Box label{0, 0, picture.width, picture.height};
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (!holds(label, all[i].box, kSlack)) return all[i].what + " leaves the label";
    for (std::size_t j = i + 1; j < all.size(); ++j) {
      if (all[i].is_sign && all[j].is_sign) continue;
      const bool in_band = all[i].what == "band" && holds(all[i].box, all[j].box, kSlack);
      if (!in_band && overlap(all[i].box, all[j].box, kSlack)) return all[i].what + " overlaps " + all[j].what;
    }
  }
  return std::nullopt;
}

TextLine line_with(const Picture& picture, std::string_view part) {
  for (const Shape& shape : picture.shapes) {
    const auto* text = std::get_if<TextLine>(&shape);
    if (text != nullptr && contains(text->text, part)) return *text;
  }
  FAIL("no line says " << part);
  throw std::logic_error("not reached");
}

}  // namespace

TEST_CASE("no text overlaps another, the symbol or the edge, whatever its length and script", "[labels]") {
  const PangoRuler ruler;
  int laid_out = 0;
  for (const LabelSize size : kSizes) {
    for (const std::string& name : tests::names_of_all_sorts()) {
      for (const std::string_view host : {std::string_view(), std::string_view(tests::kHost)}) {
        for (const int dpi : {203, 300}) {
          // Labels this low are sheets for a desk printer; a link is then too much for 203 dpi.
          if (size.height_mm < 15 && dpi < 300 && !host.empty()) continue;
          const Label labels[] = {full_of(name, host), place_label(name, host)};
          for (const Label& label : labels) {
            CAPTURE(size.width_mm, size.height_mm, name, dpi, static_cast<int>(label.kind));
            const auto fault = fault_of(lay_out(label, size, {dpi}, ruler).picture, ruler);
            CHECK_FALSE(fault.has_value());
            if (fault) UNSCOPED_INFO(*fault);
            ++laid_out;
          }
        }
      }
    }
  }
  CHECK(laid_out > 1500);
}

TEST_CASE("the check for overlaps sees one", "[labels]") {
  const PangoRuler ruler;
  Picture picture = lay_out(animal_card("C-14"), {70, 37}, {300}, ruler).picture;
  REQUIRE_FALSE(fault_of(picture, ruler).has_value());
  Picture twice = picture;
  twice.add(picture, 0.8, 0.8);
  CHECK(fault_of(twice, ruler).has_value());
}

TEST_CASE("at arm's length the name is largest, then prey, certain genes, possible genes, parents, code", "[labels]") {
  const PangoRuler ruler;
  for (const LabelSize size : kSizes) {
    CAPTURE(size.width_mm, size.height_mm);
    Label label = animal_card("C-14");
    label.warning.clear();
    const Picture picture = lay_out(label, size, {300}, ruler).picture;
    const double name = ruler.ink_box(line_with(picture, "C-14")).height;
    const double prey = line_with(picture, "small rat").size;
    const double genes = line_with(picture, "amel").size;
    const double possible = line_with(picture, "poss.").size;
    CHECK(name > prey);
    CHECK(prey > genes);
    CHECK(genes > possible);
    CHECK(std::max(possible, 1.7) >= line_with(picture, label.code).size);  // that small it can still be typed
  }
}

TEST_CASE("possible genes stand apart from certain ones, and what has no room is counted", "[labels]") {
  const PangoRuler ruler;
  Label label = animal_card("C-14");
  label.genes = {"amel", "anery", "bloodred", "charcoal", "hypo", "lavender", "motley", "stripe", "sunkissed"};
  const Picture picture = lay_out(label, {48.5, 25.4}, {300}, ruler).picture;
  const TextLine certain = line_with(picture, "+");
  CHECK_FALSE(contains(certain.text, "het"));
  const std::string count = certain.text.substr(certain.text.find('+') + 1);
  CHECK(std::stoi(count) >= 1);
  CHECK(contains(line_with(picture, "poss. ").text, "66 % het anery"));
}

TEST_CASE("half a claim of a gene is never printed: what no line holds whole is counted", "[labels]") {
  const PangoRuler ruler;
  for (const LabelSize size : kSizes) {
    CAPTURE(size.width_mm, size.height_mm);
    Label label = animal_card("C-14");
    label.possible_genes = {"66 % het anery", "50 % het lavender and a name that is long"};
    label.genes = {"amel"};
    const TextLine possible = line_with(lay_out(label, size, {300}, ruler).picture, "poss.");
    CHECK_FALSE(contains(possible.text, "…"));
    CHECK((contains(possible.text, "66 % het anery") || contains(possible.text, "poss. +2")));
  }
}

TEST_CASE("modules are whole dots and begin on a dot, at every resolution and size", "[labels]") {
  const PangoRuler ruler;
  for (const int dpi : {203, 300, 600}) {
    for (const LabelSize size : kSizes) {
      const LaidOutLabel laid_out = lay_out(animal_card("C-14"), size, {dpi}, ruler);
      const PlacedSymbol& symbol = *laid_out.picture.symbols().at(0);
      for (const double mm : {symbol.module, symbol.x, symbol.y}) {
        const double dots = mm * dpi / 25.4;
        CHECK(std::abs(dots - std::round(dots)) < 1e-6);
      }
      CHECK(laid_out.module_dots >= kLeastModuleDots);
      // Source of the 4: ISO/IEC 18004, quiet zone.
      CHECK(symbol.x >= 4 * symbol.module - 1e-9);
      CHECK(symbol.y >= 4 * symbol.module - 1e-9);
    }
  }
}

TEST_CASE("a symbol that would be too fine is refused with what would fit, a fine one warned of", "[labels]") {
  const PangoRuler ruler;
  const core::Error error = error_of([&] { lay_out(place_label("B-02", tests::kHost), {20, 12}, {203}, ruler); });
  CHECK(error.fault() == core::Fault::bad_input);
  CHECK(contains(error.what(), "B-02"));
  CHECK(contains(error.what(), "20.0 x 12.0 mm at 203 dpi"));
  CHECK(contains(error.what(), "the bare code instead of the link"));

  // What the message says would fit, fits.
  const std::string text = error.what();
  const auto at = text.find("at least ") + 9;
  const double width = std::stod(text.substr(at));
  const double height = std::stod(text.substr(text.find(" x ", at) + 3));
  CHECK(lay_out(place_label("B-02", tests::kHost), {width, height}, {203}, ruler).module_dots == kLeastModuleDots);

  const std::vector<Label> small = {place_label("B-02", tests::kHost)};
  SheetSpec tiny{"tiny", 210, 297, 4, 10, 30, 16, 10, 10, 45, 25};
  const Pages pages = sheet_pages(small, tiny, {}, ruler);
  REQUIRE_FALSE(pages.warnings.empty());
  CHECK(contains(pages.warnings.front(), "read only from close by"));
}
