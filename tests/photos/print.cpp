#include "tests/photos/print.h"

#include <algorithm>
#include <cmath>

#include "labels/design/layout.h"
#include "labels/draw/draw.h"
#include "labels/draw/text.h"
#include "tests/photos/damage.h"

namespace rackside::tests {
namespace {

using labels::GrayImage;

/// Every pixel of a stroke of that width.
template <class Paint>
void along(GrayImage& image, double x1, double y1, double x2, double y2, double width, Paint paint) {
  const double length = std::max(1.0, std::hypot(x2 - x1, y2 - y1));
  const int left = std::max(0, static_cast<int>(std::min(x1, x2) - width));
  const int right = std::min(image.width - 1, static_cast<int>(std::max(x1, x2) + width));
  const int top = std::max(0, static_cast<int>(std::min(y1, y2) - width));
  const int bottom = std::min(image.height - 1, static_cast<int>(std::max(y1, y2) + width));
  for (int y = top; y <= bottom; ++y) {
    for (int x = left; x <= right; ++x) {
      const double t = std::clamp(((x - x1) * (x2 - x1) + (y - y1) * (y2 - y1)) / (length * length), 0.0, 1.0);
      const double off = std::hypot(x - x1 - t * (x2 - x1), y - y1 - t * (y2 - y1));
      if (off <= width / 2) paint(image.at(x, y));
    }
  }
}

class Wear {
 public:
  Wear(Print& print, Chance& chance) : print_(print), chance_(chance) {}

  /// Harms of many kinds, until `part` of what the symbol can correct is used up; what would be too much is undone.
  void go_to(double part) {
    const int allowed = correction_of(print_.symbol.symbol).correctable;
    for (int tries = 0; tries < 60; ++tries) {
      const GrayImage before = print_.image;
      once();
      const Harm harm = now();
      if (harm.worst_block > part * allowed || harm.finder > 8) print_.image = before;
      if (harm.worst_block >= (part - 0.15) * allowed && harm.worst_block <= part * allowed) return;
    }
  }

  void lose_corner() {
    const auto box = print_.symbol.box();
    const double module = print_.symbol.module;
    const int which = chance_.whole(0, 2);
    const double x = (which == 1 ? box.right() - 3.5 * module : box.x + 3.5 * module) * print_.dots_per_mm;
    const double y = (which == 2 ? box.bottom() - 3.5 * module : box.y + 3.5 * module) * print_.dots_per_mm;
    const double radius = chance_.between(2.2, 3.4) * module * print_.dots_per_mm;
    const auto tone = static_cast<std::uint8_t>(chance_.one_in(0.5) ? chance_.between(150, 255) : 40);
    along(print_.image, x, y, x + radius * 0.3, y, 2 * radius, [&](std::uint8_t& p) { p = tone; });
  }

 private:
  void once() {
    const double dots = print_.dots_per_mm;
    const auto box = print_.symbol.box();
    const auto any_x = [&] { return chance_.between(box.x - 2, box.right() + 2) * dots; };
    const auto any_y = [&] { return chance_.between(box.y - 2, box.bottom() + 2) * dots; };
    const double x = any_x();
    const double y = any_y();
    switch (chance_.whole(0, 3)) {
      case 0: {  // scratched: the ink is gone
        const auto tone = static_cast<std::uint8_t>(chance_.between(170, 255));
        along(print_.image, x, y, any_x(), any_y(), chance_.between(0.15, 0.8) * dots,
              [&](std::uint8_t& p) { p = std::max(p, tone); });
        break;
      }
      case 1: {  // a pen or a smear over it
        const auto tone = static_cast<std::uint8_t>(chance_.between(20, 110));
        along(print_.image, x, y, x + chance_.between(-6, 6) * dots, y + chance_.between(-6, 6) * dots,
              chance_.between(0.3, 1.2) * dots, [&](std::uint8_t& p) { p = std::min(p, tone); });
        break;
      }
      case 2: {  // dirt that dims
        const double dim = chance_.between(0.45, 0.8);
        along(print_.image, x, y, x + chance_.between(-2, 2) * dots, y, chance_.between(1, 5) * dots,
              [&](std::uint8_t& p) { p = static_cast<std::uint8_t>(p * dim); });
        break;
      }
      default: {  // torn off
        const auto tone = static_cast<std::uint8_t>(chance_.between(120, 240));
        along(print_.image, x, y, x + chance_.between(-1, 1) * dots, y, chance_.between(0.8, 3.5) * dots,
              [&](std::uint8_t& p) { p = tone; });
      }
    }
  }

  Harm now() const {
    const labels::Symbol& symbol = print_.symbol.symbol;
    std::vector<char> wrong(symbol.modules.size(), 0);
    for (int row = 0; row < symbol.size; ++row) {
      for (int column = 0; column < symbol.size; ++column) {
        const double x = (print_.symbol.x + (column + 0.5) * print_.symbol.module) * print_.dots_per_mm;
        const double y = (print_.symbol.y + (row + 0.5) * print_.symbol.module) * print_.dots_per_mm;
        int sum = 0;
        for (int dy = -1; dy <= 1; ++dy) {
          for (int dx = -1; dx <= 1; ++dx) {
            sum += print_.image.at(std::clamp(static_cast<int>(x) + dx, 0, print_.image.width - 1),
                                   std::clamp(static_cast<int>(y) + dy, 0, print_.image.height - 1));
          }
        }
        wrong[static_cast<std::size_t>(row * symbol.size + column)] = (sum < 9 * 128) != symbol.dark(column, row);
      }
    }
    return harm_of(symbol, wrong);
  }

  Print& print_;
  Chance& chance_;
};

void grow(GrayImage& image, double chance_of_growth, Chance& chance) {
  for (int y = 0; y < image.height; ++y) {
    for (int x = image.width - 1; x > 0; --x) {
      if (image.at(x - 1, y) < 128 && chance.one_in(chance_of_growth)) image.at(x, y) = 0;
    }
  }
}

}  // namespace

Print make_print(Chance& chance, const labels::Label& label, labels::LabelSize size, const PrintStyle& style) {
  const labels::Picture picture = labels::lay_out(label, size, {style.dpi}, labels::PangoRuler()).picture;
  Print print{labels::draw_one_bit(picture, style.dpi), style.dpi / 25.4, size, *picture.symbols().front()};
  if (style.growth > 0) grow(print.image, style.growth, chance);
  for (int i = 0; i < style.streaks; ++i) {
    const int x = chance.whole(0, print.image.width - 1);
    for (int y = 0; y < print.image.height; ++y) print.image.at(x, y) = 255;
  }
  Wear wear(print, chance);
  if (style.damage > 0) wear.go_to(style.damage);
  if (style.lost_corner) wear.lose_corner();
  return print;
}

}  // namespace rackside::tests
