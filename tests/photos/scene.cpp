#include "tests/photos/scene.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "labels/draw/draw.h"

namespace rackside::tests {
namespace {

using labels::Box;
using labels::Color;
using labels::FilledBox;
using labels::Picture;
using labels::Ring;
using labels::Stroke;
using labels::TextLine;

constexpr double kDegree = std::numbers::pi / 180;
constexpr double kFrame = 15;

struct Cell {
  double width;
  double height;
};
Cell cell_of(labels::LabelSize label) {
  return {label.width_mm * 1.35 + 8, label.height_mm * 1.5 + 12};
}

Color grey(double tone) {
  return {tone, tone, tone};
}

std::string clutter_text(Chance& chance) {
  static const char* const kTexts[] = {"small rat",          "OKEETEE 0.1", "fed mon",     "DO NOT OPEN",
                                       "№ 7 / 2021",         "春の小川",    "نجمة الصباح", "Ångström",
                                       "weigh 12.03",        "||| |||| ||", "ABC-123-DEF", "amel motley 66 %",
                                       "!!! QUARANTINE !!!", "5,5 g",       "lot 0O0O1I1I"};
  return chance.pick(kTexts);
}

void add_text(Picture& out, Chance& chance, const Box& tub) {
  const double size = chance.between(2, 11);
  const double x = chance.between(tub.x, tub.x + tub.width * 0.7);
  const double y = chance.between(tub.y + size, tub.bottom());
  TextLine line{{x, y - size, std::min(60.0, tub.right() - x), size * 1.4}, y, size, clutter_text(chance)};
  line.weight = chance.one_in(0.5) ? labels::Weight::bold : labels::Weight::regular;
  if (chance.one_in(0.5)) out.shapes.emplace_back(FilledBox{{x - 1, y - size, size * 6, size * 1.4}, grey(0.92), 1});
  line.color = grey(chance.between(0, 0.25));
  out.shapes.emplace_back(line);
}

void add_vents(Picture& out, Chance& chance, const Box& tub) {
  const double radius = chance.between(0.8, 2.2);
  const double y = tub.y + chance.between(3, 8);
  for (double x = tub.x + 5; x < tub.right() - 5; x += radius * 4) {
    out.shapes.emplace_back(FilledBox{{x - radius, y - radius, 2 * radius, 2 * radius}, grey(0.1), radius});
    if (chance.one_in(0.4)) out.shapes.emplace_back(Ring{x, y, radius * 2, radius * 0.6, grey(0.15)});
  }
}

void add_foreign_symbol(Picture& out, Chance& chance, double x, double y) {
  static const char* const kTexts[] = {"HTTPS://EXAMPLE.ORG/HEAT-MAT", "https://example.com/lamp?id=4711&lang=en",
                                       "0123456789", "T7K2M9QX4A", "WIFI:T:WPA;S:reptile-room;P:invented;;"};
  labels::PlacedSymbol symbol{x, y, chance.between(0.5, 0.9), labels::make_symbol(chance.pick(kTexts)), "", ""};
  const Box quiet = symbol.box_with_quiet();
  out.shapes.emplace_back(FilledBox{quiet, grey(0.95), 0});
  out.shapes.emplace_back(std::move(symbol));
}

void add_barcode(Picture& out, Chance& chance, double x, double y) {
  out.shapes.emplace_back(FilledBox{{x, y, 37, 14}, grey(0.95), 0});
  for (double at = x + 4; at < x + 33;) {
    const double bar = 0.33 * chance.whole(1, 4);
    out.shapes.emplace_back(FilledBox{{at, y + 1, bar, 10}, grey(0.05), 0});
    at += bar + 0.33 * chance.whole(1, 4);
  }
}

void add_tub(Picture& out, Chance& chance, const Box& tub, const SceneStyle& style) {
  const double base = chance.one_in(0.2) ? chance.between(0.05, 0.2) : chance.between(0.35, 0.95);
  const Color body{base, base * chance.between(0.9, 1), base * chance.between(0.8, 1)};
  out.shapes.emplace_back(FilledBox{{tub.x - 1, tub.y - 1, tub.width + 2, tub.height + 3}, grey(0.06), 3});
  out.shapes.emplace_back(FilledBox{tub, body, 3});
  const Color bedding{base * 0.8, base * 0.7, base * 0.5};
  out.shapes.emplace_back(
      FilledBox{{tub.x + 1, tub.bottom() - tub.height * 0.22, tub.width - 2, tub.height * 0.2}, bedding, 2});
  for (int i = chance.whole(0, 25); i > 0; --i) {
    const double x = chance.between(tub.x, tub.right());
    const double y = chance.between(tub.bottom() - tub.height * 0.25, tub.bottom());
    out.shapes.emplace_back(Stroke{x, y, x + chance.between(-3, 3), y + chance.between(-2, 2), 0.5,
                                   grey(base * chance.between(0.4, 1.2) > 1 ? 1 : base * 0.6)});
  }
  out.shapes.emplace_back(FilledBox{{tub.x - 1, tub.y, tub.width + 2, 4}, grey(base * 0.75), 2});
  if (chance.one_in(0.5)) {
    const double radius = tub.height * 0.15;
    out.shapes.emplace_back(Ring{chance.between(tub.x + radius, tub.right() - radius),
                                 tub.bottom() - radius * 1.3,
                                 radius,
                                 radius * 0.4,
                                 {0.55, 0.33, 0.2}});
  }
  if (chance.one_in(style.clutter)) add_vents(out, chance, tub);
  for (int i = 0; i < 2; ++i) {
    if (chance.one_in(style.clutter)) add_text(out, chance, tub);
  }
}

/// From a place on a label (millimetres from its middle) to the scene, and back; the label is bent around a standing
/// cylinder that is seen a little from above or below.
class Wrap {
 public:
  Wrap(double x, double y, double turn, double bend, double arch, double half_width)
      : x_(x), y_(y), cosine_(std::cos(turn)), sine_(std::sin(turn)), arch_(arch) {
    radius_ = bend > 0 ? half_width / (bend * kDegree) : 1e6;
  }
  labels::PixelPoint to_scene(double u, double v) const {
    const double angle = u / radius_;
    const double flat_x = radius_ * std::sin(angle);
    const double flat_y = v + arch_ * radius_ * (1 - std::cos(angle));
    return {x_ + flat_x * cosine_ - flat_y * sine_, y_ + flat_x * sine_ + flat_y * cosine_};
  }
  /// NaN beside the cylinder. `shade` is how much light comes back.
  labels::PixelPoint to_label(double x, double y, double& shade) const {
    const double flat_x = (x - x_) * cosine_ + (y - y_) * sine_;
    const double flat_y = -(x - x_) * sine_ + (y - y_) * cosine_;
    const double angle = std::asin(flat_x / radius_);
    shade = 0.6 + 0.4 * std::cos(angle);
    return {angle * radius_, flat_y - arch_ * radius_ * (1 - std::cos(angle))};
  }

 private:
  double x_, y_, cosine_, sine_, arch_, radius_;
};

struct Drop {
  double x, y, radius;
};

class Sticker {
 public:
  Sticker(Scene& scene, Chance& chance, const Print& print, const SceneStyle& style)
      : scene_(scene), chance_(chance), print_(print), style_(style) {}

  void stick(double x, double y) {
    double turn = chance_.between(-style_.askew, style_.askew) * kDegree;
    if (style_.upside_down && chance_.one_in(0.3)) turn += std::numbers::pi;
    const double bend = style_.bend > 0 ? chance_.between(0.4, 1) * style_.bend : 0;
    const double half_width = print_.size.width_mm / 2;
    const double half_height = print_.size.height_mm / 2;
    const Wrap wrap(x, y, turn, bend, bend > 0 ? chance_.between(-0.3, 0.3) : 0, half_width);
    for (int i = 0; i < static_cast<int>(style_.wet * chance_.between(4, 14)); ++i) {
      drops_.push_back({chance_.between(-half_width, half_width), chance_.between(-half_height, half_height),
                        chance_.between(0.5, 2.4)});
    }
    paint(x, y, std::hypot(half_width, half_height) + 2, wrap);
    const Box box = print_.symbol.box();
    const auto corner = [&](double u, double v) { return wrap.to_scene(u - half_width, v - half_height); };
    scene_.labels.push_back({print_.symbol.payload,
                             {corner(box.x, box.y), corner(box.right(), box.y), corner(box.right(), box.bottom()),
                              corner(box.x, box.bottom())},
                             {x, y},
                             half_width,
                             half_height});
    scene_.module_mm = std::min(scene_.module_mm, print_.symbol.module);
  }

 private:
  void paint(double x, double y, double reach, const Wrap& wrap) {
    const double paper = chance_.between(0.82, 0.97);
    const double ink = chance_.between(0.03, 0.2);
    const double scale = scene_.pixels_per_mm;
    const int left = std::max(0, static_cast<int>((x - reach) * scale));
    const int right = std::min(scene_.image.width - 1, static_cast<int>((x + reach) * scale));
    const int top = std::max(0, static_cast<int>((y - reach) * scale));
    const int bottom = std::min(scene_.image.height - 1, static_cast<int>((y + reach) * scale));
    for (int py = top; py <= bottom; ++py) {
      for (int px = left; px <= right; ++px) {
        double light = 0;
        int inside = 0;
        for (const double dy : {0.17, 0.5, 0.83}) {
          for (const double dx : {0.17, 0.5, 0.83}) {
            double shade = 1;
            const auto at = wrap.to_label((px + dx) / scale, (py + dy) / scale, shade);
            const double tone = tone_at(at.x, at.y);
            if (tone < 0) continue;
            ++inside;
            light += (ink + (paper - ink) * tone) * shade;
          }
        }
        if (inside == 0) continue;
        std::uint8_t* pixel = scene_.image.pixels.data() + scene_.image.index(px, py);
        for (int c = 0; c < 3; ++c) pixel[c] = static_cast<std::uint8_t>((light * 255 + (9 - inside) * pixel[c]) / 9);
      }
    }
  }

  /// 0 ink, 1 paper, -1 beside the label. Under a drop the print is magnified and its rim is bright.
  double tone_at(double u, double v) const {
    double bright = 0;
    for (const Drop& drop : drops_) {
      const double off = std::hypot(u - drop.x, v - drop.y) / drop.radius;
      if (off >= 1) continue;
      u = drop.x + (u - drop.x) * (0.75 + 0.25 * off);
      v = drop.y + (v - drop.y) * (0.75 + 0.25 * off);
      if (off < 0.25) bright = 0.8;
      if (off > 0.9) bright = 0.15;
      break;
    }
    const int column = static_cast<int>(std::floor((u + print_.size.width_mm / 2) * print_.dots_per_mm));
    const int row = static_cast<int>(std::floor((v + print_.size.height_mm / 2) * print_.dots_per_mm));
    if (column < 0 || row < 0 || column >= print_.image.width || row >= print_.image.height) return -1;
    return std::min(1.0, print_.image.at(column, row) / 255.0 + bright);
  }

  Scene& scene_;
  Chance& chance_;
  const Print& print_;
  const SceneStyle& style_;
  std::vector<Drop> drops_;
};

}  // namespace

labels::LabelSize scene_size(std::size_t count, int columns, labels::LabelSize label) {
  const Cell cell = cell_of(label);
  const int rows = (static_cast<int>(count) + columns - 1) / columns;
  return {2 * kFrame + columns * cell.width, 2 * kFrame + rows * cell.height};
}

Scene make_scene(Chance& chance, const std::vector<Print>& prints, const SceneStyle& style, double pixels_per_mm) {
  const Cell cell = cell_of(prints.front().size);
  const labels::LabelSize size = scene_size(prints.size(), style.columns, prints.front().size);
  Picture back;
  back.width = size.width_mm;
  back.height = size.height_mm;
  back.shapes.emplace_back(FilledBox{{0, 0, back.width, back.height}, grey(chance.between(0.05, 0.95)), 0});
  std::vector<Box> tubs;
  for (std::size_t i = 0; i < prints.size(); ++i) {
    const int column = static_cast<int>(i) % style.columns;
    const int row = static_cast<int>(i) / style.columns;
    tubs.push_back({kFrame + column * cell.width + 2, kFrame + row * cell.height + 2, cell.width - 4, cell.height - 6});
    add_tub(back, chance, tubs.back(), style);
    if (!chance.one_in(style.foreign)) continue;
    const double x = tubs.back().x + chance.between(0, 10);
    const double y = tubs.back().y + chance.between(0, 6);
    if (chance.one_in(0.5)) {
      add_foreign_symbol(back, chance, x, y);
    } else {
      add_barcode(back, chance, x, y);
    }
  }
  const int dpi = std::max(20, static_cast<int>(std::lround(pixels_per_mm * 25.4)));
  Scene scene{labels::draw_color(back, dpi), dpi / 25.4, back.width, back.height, 1e9, {}};
  for (std::size_t i = 0; i < prints.size(); ++i) {
    const Box& tub = tubs[i];
    const double room_x = std::max(0.0, tub.width - prints[i].size.width_mm - 4) / 2;
    const double room_y = std::max(0.0, tub.height - prints[i].size.height_mm - 4) / 2;
    Sticker(scene, chance, prints[i], style)
        .stick(tub.x + tub.width / 2 + chance.between(-room_x, room_x),
               tub.y + tub.height / 2 + chance.between(-room_y, room_y));
  }
  return scene;
}

}  // namespace rackside::tests
