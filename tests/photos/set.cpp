#include "tests/photos/set.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "labels/design/label.h"

namespace rackside::tests {
namespace {

using labels::LabelSize;

constexpr double kMostPixels = 2.0e6;

struct Plan {
  PrintStyle print;
  SceneStyle scene;
  ShotStyle shot;
  double module_pixels = 5;
  double most_pixels = kMostPixels;
};

/// A careful photo with a steady hand in a lit room; every category makes one thing of it worse.
Plan careful(Chance& chance) {
  Plan plan;
  plan.print.dpi = chance.one_in(0.5) ? 203 : 300;
  plan.print.growth = chance.between(0, 0.4);
  plan.print.streaks = chance.one_in(0.15) ? 1 : 0;
  plan.scene.upside_down = chance.one_in(0.3);
  plan.shot.turn = chance.between(-14, 14);
  plan.shot.tilt = chance.between(-10, 10);
  plan.shot.roll = chance.between(-6, 6);
  plan.shot.soft = chance.between(0.4, 0.8);
  plan.shot.exposure = chance.between(0.75, 1);
  plan.shot.noise = chance.between(1.5, 4);
  plan.shot.sharpen = chance.one_in(0.5) ? chance.between(0.3, 1.2) : 0;
  plan.shot.shadows = chance.whole(0, 2);
  plan.shot.quality = chance.whole(72, 92);
  plan.scene.foreign = 0.15;
  plan.scene.clutter = chance.between(0.2, 0.9);
  plan.module_pixels = chance.between(3.5, 6.5);
  return plan;
}

void worsen(Plan& plan, std::string_view category, Chance& chance) {
  if (category == "motion") {
    plan.shot.motion = chance.between(0.6, 2.1);
  } else if (category == "defocus") {
    plan.shot.defocus = chance.between(0.7, 1.9);
  } else if (category == "perspective") {
    plan.shot.turn = chance.either(20, 50);
    plan.shot.tilt = chance.between(-25, 25);
    plan.module_pixels = chance.between(5, 8);
  } else if (category == "rotation") {
    plan.shot.roll = chance.between(0, 360);
  } else if (category == "low light") {
    plan.shot.exposure = chance.between(0.12, 0.35);
    plan.shot.noise = chance.between(4, 11);
    plan.shot.denoise = chance.between(0.3, 0.9);
    plan.shot.gain = chance.between(1, 2);
  } else if (category == "glare") {
    plan.shot.glare = chance.between(110, 250);
  } else if (category == "damage") {
    plan.print.damage = chance.between(0.4, 0.9);
    plan.print.lost_corner = chance.one_in(0.2);
    plan.print.streaks = chance.whole(0, 3);
  } else if (category == "small modules") {
    plan.module_pixels = chance.between(1.9, 3.6);
    plan.shot.soft = chance.between(0.3, 0.6);
  } else if (category == "curved and wet") {
    plan.scene.bend = chance.between(15, 55);
    plan.scene.wet = chance.between(0, 1);
  } else if (category == "JPEG 40-60") {
    plan.shot.quality = chance.whole(40, 60);
    plan.module_pixels = chance.between(2.6, 5.5);
  } else if (category == "mixed") {
    plan.shot.turn = chance.either(5, 35);
    plan.shot.roll = chance.between(-30, 30);
    plan.shot.motion = chance.one_in(0.4) ? chance.between(0.3, 0.9) : 0;
    plan.shot.defocus = chance.one_in(0.4) ? chance.between(0.4, 1.0) : 0;
    plan.shot.glare = chance.one_in(0.3) ? chance.between(60, 160) : 0;
    plan.shot.exposure = chance.between(0.35, 1);
    plan.shot.noise = chance.between(3, 7);
    plan.scene.bend = chance.one_in(0.4) ? chance.between(10, 35) : 0;
    plan.scene.wet = chance.one_in(0.3) ? 0.6 : 0;
    plan.print.damage = chance.one_in(0.4) ? chance.between(0.2, 0.6) : 0;
    plan.shot.quality = chance.whole(50, 90);
  } else if (category == "racks of 4-12" || category == "racks of 13-40") {
    plan.module_pixels = chance.between(2.6, 5.5);
    plan.shot.turn = chance.between(-25, 25);
  } else if (category == "12 megapixels") {
    plan.module_pixels = chance.between(5, 12);
    plan.most_pixels = 12.2e6;
    plan.shot.soft = chance.between(0.7, 1.5);
  }
}

constexpr LabelSize kSizes[] = {{70, 37}, {63.5, 33.9}, {50, 25}, {57, 32}, {48.5, 25.4}, {38, 21}, {99.1, 38.1}};

std::mt19937& code_source() {
  static thread_local std::mt19937 random;
  return random;
}
void code_bytes(std::span<std::uint8_t> out) {
  for (std::uint8_t& byte : out) byte = static_cast<std::uint8_t>(code_source()());
}

labels::Label any_label(Chance& chance, int number, const std::string& host) {
  const bool card = chance.one_in(0.4);
  code_source().seed(static_cast<std::uint32_t>(chance.source()()));
  const core::Code code = core::Code::generate(card ? core::CodeKind::animal : core::CodeKind::place, code_bytes);
  labels::Label label = labels::label_for(card ? labels::LabelKind::animal_card : labels::LabelKind::place, code,
                                          (card ? "C-" : "B") + std::to_string(number), host);
  label.subtitle = "Rack B, row " + std::to_string(number % 9);
  if (chance.one_in(0.5)) label.species = "corn snake";
  if (!card) return label;
  label.sex = chance.one_in(0.5) ? labels::LabelSex::female : labels::LabelSex::male;
  label.prey = "small rat";
  if (chance.one_in(0.3)) label.warning = "QUARANTINE";
  label.genes = {"amel", "motley"};
  if (chance.one_in(0.5)) label.possible_genes = {"66 % het anery"};
  label.hatch_year = "2021";
  return label;
}

/// A print at the first of these that the label fits: a link at 203 dpi needs room.
Print fitting_print(Chance& chance, const labels::Label& label, LabelSize size, PrintStyle style) {
  try {
    return make_print(chance, label, size, style);
  } catch (const core::Error&) {
    style.dpi = 600;
    return make_print(chance, label, size, style);
  }
}

std::uint32_t seed_of(std::uint32_t seed, std::string_view category, int number) {
  std::uint32_t mixed = seed;
  for (const char c : category) mixed = mixed * 16777619U ^ static_cast<std::uint8_t>(c);
  return mixed * 16777619U ^ static_cast<std::uint32_t>(number);
}

}  // namespace

const std::vector<Category>& photo_categories() {
  static const std::vector<Category> kAll = {
      {"motion", 30, 1, 3, true},           {"defocus", 30, 1, 3, true},       {"perspective", 30, 1, 4, true},
      {"rotation", 30, 1, 4, true},         {"low light", 30, 1, 4, true},     {"glare", 30, 1, 3, true},
      {"damage", 40, 1, 2, true},           {"small modules", 30, 1, 4, true}, {"curved and wet", 30, 1, 3, true},
      {"JPEG 40-60", 30, 1, 4, true},       {"mixed", 30, 1, 4, true},         {"racks of 4-12", 16, 4, 12, true},
      {"racks of 13-40", 10, 13, 40, true}, {"12 megapixels", 6, 8, 30, false}};
  return kAll;
}

Shot make_photo(std::uint32_t seed, const Category& category, int number) {
  Chance chance(seed_of(seed, category.name, number));
  Plan plan = careful(chance);
  worsen(plan, category.name, chance);
  const int count = chance.whole(category.fewest, category.most);
  plan.scene.columns =
      count <= 3 ? chance.whole(1, count) : std::max(2, static_cast<int>(std::lround(std::sqrt(count))));
  const LabelSize size = chance.pick(kSizes);
  const std::string host = chance.one_in(0.45) ? (chance.one_in(0.5) ? "rack-7f3k.local:8443" : "192.168.1.20") : "";
  std::vector<Print> prints;
  double module_mm = 1e9;
  for (int i = 0; i < count; ++i) {
    prints.push_back(fitting_print(chance, any_label(chance, i + 1, host), size, plan.print));
    module_mm = std::min(module_mm, prints.back().symbol.module);
  }
  const LabelSize whole = scene_size(prints.size(), plan.scene.columns, size);
  const double room = std::sqrt(plan.most_pixels / (whole.width_mm * whole.height_mm));
  // A photo may not be too large; a turned camera needs more room.
  const double turned = std::abs(std::sin(2 * plan.shot.roll * 3.14159265 / 180));
  const double pixels_per_mm = std::min(plan.module_pixels / module_mm, room / (1 + 0.45 * turned));
  const double fine = std::min(2.0 * pixels_per_mm, std::sqrt(45e6 / (whole.width_mm * whole.height_mm)));
  const Scene scene = make_scene(chance, prints, plan.scene, std::max(fine, pixels_per_mm));
  return shoot(chance, scene, plan.shot, pixels_per_mm);
}

}  // namespace rackside::tests
