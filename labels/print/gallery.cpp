#include "labels/print/gallery.h"

#include <algorithm>
#include <random>
#include <span>

#include "labels/design/layout.h"
#include "labels/design/text_fit.h"
#include "labels/draw/draw.h"
#include "labels/draw/text.h"

namespace rackside::labels {
namespace {

constexpr double kGap = 5;
constexpr double kCaption = 2.6;
constexpr double kHairline = 0.12;

/// Codes that are the same in every picture.
void example_bytes(std::span<std::uint8_t> out) {
  static thread_local std::mt19937 random(20261125);
  for (std::uint8_t& byte : out) byte = static_cast<std::uint8_t>(random());
}

Label example(LabelKind kind, core::CodeKind names, std::string_view title) {
  return label_for(kind, core::Code::generate(names, example_bytes), title);
}

Label place(LabelKind kind, std::string_view title) {
  Label label = example(kind, core::CodeKind::place, title);
  label.subtitle = "Rack B";
  return label;
}

Label animal(LabelKind kind, std::string_view title, LabelSex sex) {
  Label label = example(kind, core::CodeKind::animal, title);
  label.sex = sex;
  label.species = "corn snake";
  label.prey = "small rat";
  label.genes = {"amel", "motley"};
  label.possible_genes = {"66 % het anery", "50 % het charcoal (both by parents)"};
  label.footnote = {"het = one hidden copy",
                    kind == LabelKind::sale ? "% = the chance of it" : "% = the chance of it on 25 Nov 2026"};
  const std::string year = kind == LabelKind::hatchling ? "2026" : "2021";
  label.hatched = "8 Jul " + year;
  label.hatch_year = year;
  label.parents = "C-03 × C-09";  // sire × dam
  label.breeder = "Ottoline";
  label.dated = "25 Nov 2026";
  return label;
}

Label clutch(LabelKind kind, core::CodeKind names) {
  Label label = example(kind, names, "C-09");  // a clutch is called by its dam
  label.parents = "C-03 × C-09";
  label.laid = "12 May 2026";
  label.eggs = "12 good, 1 slug";
  if (kind == LabelKind::egg_box) label.subtitle = "box 2 of 3";
  return label;
}

GalleryPiece with_warning(GalleryPiece piece, const char* warning) {
  piece.label.warning = warning;
  return piece;
}

/// Where pieces are put, line by line.
class Shelf {
 public:
  explicit Shelf(double width) { picture_.width = width; }

  void put(const GalleryPiece& piece, const TextRuler& ruler) {
    const LabelSize size = piece.size;
    if (x_ > kGap && x_ + size.width_mm + kGap > picture_.width) {
      x_ = kGap;
      y_ += line_ + kGap + kCaption * 2;
      line_ = 0;
    }
    picture_.shapes.emplace_back(OutlinedBox{
        {x_ - kHairline, y_ - kHairline, size.width_mm + 2 * kHairline, size.height_mm + 2 * kHairline}, kHairline, 1});
    picture_.add(lay_out(piece.label, size, {kPageGrid}, ruler).picture, x_, y_);
    const Box caption{x_, y_ + size.height_mm + kCaption * 0.5, size.width_mm, kCaption};
    picture_.shapes.emplace_back(fit_line(ruler, piece.caption, caption, {}));
    x_ += size.width_mm + kGap;
    line_ = std::max(line_, size.height_mm);
    picture_.height = std::max(picture_.height, y_ + line_ + kGap + kCaption * 1.5);
  }

  const Picture& picture() const { return picture_; }

 private:
  static constexpr int kPageGrid = 300;
  Picture picture_;
  double x_ = kGap;
  double y_ = kGap;
  double line_ = 0;
};

}  // namespace

GrayImage draw_gallery(const std::vector<GalleryPiece>& pieces, double width_mm, int dpi) {
  const PangoRuler ruler;
  Shelf shelf(width_mm);
  for (const GalleryPiece& piece : pieces) shelf.put(piece, ruler);
  return draw_gray(shelf.picture(), dpi);
}

std::vector<GalleryPiece> example_pieces() {
  using Sex = LabelSex;
  Label star = animal(LabelKind::animal_card, "نجمة الصباح", Sex::male);
  star.genes = {"anery"};
  Label brook = animal(LabelKind::animal_card, "春の小川", Sex::female);
  brook.genes = {"normal"};
  Label helper = example(LabelKind::helper_badge, core::CodeKind::helper, "Sefa");
  helper.subtitle = "helper";
  helper.breeder = "with Ottoline";
  return {
      {place(LabelKind::place, "B-07"), {70, 37}, "place, 70 × 37 mm"},
      {animal(LabelKind::animal_card, "C-14", Sex::female), {70, 37}, "animal card, 70 × 37 mm"},
      {clutch(LabelKind::clutch, core::CodeKind::clutch), {63.5, 38.1}, "clutch, 63.5 × 38.1 mm"},
      {animal(LabelKind::sale, "C-14", Sex::female), {99.1, 67.7}, "sale card, 99.1 × 67.7 mm"},
      with_warning(
          {animal(LabelKind::animal_card, "24-Okeetee-3", Sex::male), {99.1, 38.1}, "animal card, 99.1 × 38.1 mm"},
          "QUARANTINE"),
      {helper, {85, 38}, "helper badge, 85 × 38 mm"},
      {clutch(LabelKind::egg_box, core::CodeKind::egg_box), {57, 32}, "egg box, 57 × 32 mm"},
      {place(LabelKind::strip, "B-08"), {42, 22}, "one place of a rack strip"},
      {animal(LabelKind::hatchling, "26-H-14", Sex::female), {57, 32}, "hatchling, 57 × 32 mm"},
      {animal(LabelKind::hatchling, "26-H-15", Sex::male), {38, 21}, "hatchling, 38 × 21 mm"},
      {animal(LabelKind::animal_card, "C-15", Sex::female), {44.45, 12.7}, "animal card, 44.45 × 12.7 mm"},
      {star, {63.5, 33.9}, "any script"},
      {brook, {63.5, 33.9}, "any script"},
      {animal(LabelKind::animal_card, "Princess of the Eastern Room", Sex::female), {63.5, 33.9}, "a long name"},
  };
}

}  // namespace rackside::labels
