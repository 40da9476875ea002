#include <array>
#include <string>
#include <vector>

#include "labels/design/layout.h"
#include "labels/draw/text.h"
#include "tests/support/property.h"
#include "tests/unit/labels_support.h"

using namespace rackside;
using namespace rackside::labels;

namespace {

/// Words of many scripts, some of them nasty: combining marks, right to left, tall stacks, none at all.
const std::vector<std::string>& syllables() {
  static const std::vector<std::string> all = {"a",  "W", "iii", "Öl", "g",  "Ệ", "-", " ",   "·", "نج",
                                               "مة", "ฟ้", "ปู่",   "春", "小", "ש", "ल", "क्ष",  "1", "99",
                                               "🐍",  "ﷺ", "Ǻ",   "j",  "\t", "_", "'", "\xff"};
  return all;
}

std::string random_text(int longest) {
  const int length = *rc::gen::inRange(0, longest + 1);
  std::string text;
  for (int i = 0; i < length; ++i) text += *rc::gen::elementOf(syllables());
  return text;
}

std::vector<std::string> random_list() {
  std::vector<std::string> list;
  for (int i = *rc::gen::inRange(0, 7); i > 0; --i) list.push_back(random_text(14));
  return list;
}

Label random_label() {
  Label label = tests::animal_card(random_text(30), *rc::gen::element("", tests::kHost));
  label.kind = *rc::gen::elementOf(std::vector<LabelKind>(label_kinds().begin(), label_kinds().end()));
  label.subtitle = random_text(20);
  label.species = random_text(20);
  label.prey = random_text(20);
  label.warning = *rc::gen::element(true, false) ? random_text(16) : "";
  label.genes = random_list();
  label.possible_genes = random_list();
  label.parents = random_text(24);
  label.hatched = random_text(8);
  label.laid = random_text(8);
  label.eggs = random_text(12);
  label.breeder = random_text(20);
  if (*rc::gen::element(true, false)) label.sex.reset();
  return label;
}

/// What a shape inks, as a box and a name for messages.
struct Inked {
  std::string what;
  Box box;
};

Inked inked(const Shape& shape, const PangoRuler& ruler) {
  if (const auto* text = std::get_if<TextLine>(&shape)) return {"“" + text->text + "”", ruler.ink_box(*text)};
  if (const auto* box = std::get_if<FilledBox>(&shape)) return {"band", box->box};
  if (const auto* box = std::get_if<OutlinedBox>(&shape)) return {"box", box->box};
  if (const auto* symbol = std::get_if<PlacedSymbol>(&shape)) return {"symbol", symbol->box_with_quiet()};
  if (const auto* ring = std::get_if<Ring>(&shape)) {
    const double reach = ring->radius + ring->stroke / 2;
    return {"sign", {ring->x - reach, ring->y - reach, 2 * reach, 2 * reach}};
  }
  const auto& line = std::get<Stroke>(shape);
  const double half = line.width / 2;
  return {"sign",
          {std::min(line.x1, line.x2) - half, std::min(line.y1, line.y2) - half,
           std::abs(line.x2 - line.x1) + line.width, std::abs(line.y2 - line.y1) + line.width}};
}

bool within(const Box& outer, const Box& inner, double slack) {
  return inner.x >= outer.x - slack && inner.y >= outer.y - slack && inner.right() <= outer.right() + slack &&
         inner.bottom() <= outer.bottom() + slack;
}

/// The first two things that overlap, or what leaves the label; empty when all is well.
std::string fault_of(const Picture& picture, const PangoRuler& ruler) {
  constexpr double kSlack = 0.05;  // millimetres: half a dot at 300 dpi
  std::vector<Inked> all;
  for (const Shape& shape : picture.shapes) all.push_back(inked(shape, ruler));
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (!within({0, 0, picture.width, picture.height}, all[i].box, kSlack)) return all[i].what + " leaves the label";
    for (std::size_t j = i + 1; j < all.size(); ++j) {
      if (all[i].what == "sign" && all[j].what == "sign") continue;
      if (all[i].what == "band" && within(all[i].box, all[j].box, kSlack)) continue;
      if (overlap(all[i].box, all[j].box, kSlack)) return all[i].what + " overlaps " + all[j].what;
    }
  }
  return {};
}

}  // namespace

TEST_CASE("whatever a label says and however large it is, nothing overlaps and nothing leaves it", "[labels]") {
  const PangoRuler ruler;
  tests::check_property("ink boxes are apart", [&] {
    const Label label = random_label();
    const LabelSize size{*rc::gen::inRange(30, 150) / 1.0 + 0.37, *rc::gen::inRange(15, 90) / 1.0 + 0.61};
    const int dpi = *rc::gen::element(203, 300, 600);
    RC_LOG() << size.width_mm << " x " << size.height_mm << " mm, " << dpi << " dpi, " << word_of(label.kind) << ", "
             << label.title << "\n";
    try {
      const LaidOutLabel laid_out = lay_out(label, size, {dpi}, ruler);
      RC_ASSERT(fault_of(laid_out.picture, ruler) == "");
      RC_ASSERT(laid_out.module_dots >= kLeastModuleDots);
    } catch (const core::Error& error) {
      // Too small for its symbol: told, with what would fit.
      RC_ASSERT(error.fault() == core::Fault::bad_input);
      RC_ASSERT(std::string(error.what()).find("What fits") != std::string::npos);
    }
  });
}
