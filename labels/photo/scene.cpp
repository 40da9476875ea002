#include "labels/photo/scene.h"

#include <cmath>

namespace rackside::labels {
namespace {

// Millimetres, of a rack for young snakes.
constexpr double kFrame = 26;     ///< of the rack around the tubs
constexpr double kSideRoom = 16;  ///< of a tub beside its label
constexpr double kHeadRoom = 17;  ///< over it: the lip and handle
constexpr double kFootRoom = 9;
constexpr double kTubGap = 5;
constexpr double kShelf = 7;
constexpr int kLabelDpi = 600;

constexpr Color kRackColor{0.16, 0.17, 0.18};
constexpr Color kShelfColor{0.27, 0.28, 0.30};
constexpr Color kShadow{0.07, 0.07, 0.08};
constexpr Color kTub{0.62, 0.65, 0.66};
constexpr Color kTubEdge{0.75, 0.78, 0.79};
constexpr Color kLip{0.50, 0.53, 0.55};
constexpr Color kBedding{0.60, 0.52, 0.40};
constexpr Color kPaper{0.96, 0.96, 0.94};

Color mixed(const Color& a, const Color& b, double part) {
  return {a.red + (b.red - a.red) * part, a.green + (b.green - a.green) * part, a.blue + (b.blue - a.blue) * part};
}

/// A coil behind frosted plastic: no more than a hint.
void add_dweller(Picture& picture, const Box& tub, std::mt19937& random) {
  const Color skin{0.60 + 0.2 * uniform(random), 0.36 + 0.15 * uniform(random), 0.22};
  const Color seen = mixed(skin, kTub, 0.45);
  const double radius = tub.height * (0.13 + 0.05 * uniform(random));
  const double x = tub.x + radius * 1.6 + uniform(random) * (tub.width - radius * 3.2);
  const double y = tub.bottom() - radius * 1.35;
  for (const double part : {1.0, 0.55}) picture.shapes.emplace_back(Ring{x, y, radius * part, radius * 0.34, seen});
}

void add_tub(Picture& picture, const Box& tub, std::mt19937& random) {
  picture.shapes.emplace_back(FilledBox{{tub.x - 1.5, tub.y - 1, tub.width + 3, tub.height + 3.5}, kShadow, 4});
  picture.shapes.emplace_back(FilledBox{tub, kTubEdge, 4});
  const Box inner{tub.x + 1.2, tub.y + 1.2, tub.width - 2.4, tub.height - 2.4};
  picture.shapes.emplace_back(FilledBox{inner, kTub, 3.4});
  const double bedding = tub.height * (0.16 + 0.08 * uniform(random));
  const Box floor{inner.x, inner.bottom() - bedding, inner.width, bedding};
  picture.shapes.emplace_back(FilledBox{floor, mixed(kBedding, kTub, 0.35), 3.4});
  if (uniform(random) < 0.7) add_dweller(picture, inner, random);
  picture.shapes.emplace_back(FilledBox{{tub.x - 1, tub.y, tub.width + 2, 6}, kLip, 2.5});
  const double middle = tub.x + tub.width / 2;
  picture.shapes.emplace_back(FilledBox{{middle - 14, tub.y + 7.4, 28, 4.6}, kLip, 2.2});
  picture.shapes.emplace_back(FilledBox{{middle - 12.5, tub.y + 8.8, 25, 2.6}, kShadow, 1.3});
}

void add_label(Picture& picture, const Label& label, LabelSize size, double x, double y, const TextRuler& ruler) {
  picture.shapes.emplace_back(FilledBox{{x + 0.35, y + 0.5, size.width_mm, size.height_mm}, kLip, 1.2});
  picture.shapes.emplace_back(FilledBox{{x, y, size.width_mm, size.height_mm}, kPaper, 1.2});
  picture.add(lay_out(label, size, {kLabelDpi}, ruler).picture, x, y);
}

}  // namespace

Picture rack_front(const std::vector<Label>& labels, LabelSize size, int columns, std::mt19937& random,
                   const TextRuler& ruler) {
  const double tub_width = size.width_mm + 2 * kSideRoom;
  const double tub_height = size.height_mm + kHeadRoom + kFootRoom;
  const double pitch_y = tub_height + kTubGap + kShelf;
  const int rows = (static_cast<int>(labels.size()) + columns - 1) / columns;
  Picture picture;
  picture.width = 2 * kFrame + columns * (tub_width + kTubGap) - kTubGap;
  picture.height = 2 * kFrame + rows * pitch_y;
  picture.shapes.emplace_back(FilledBox{{0, 0, picture.width, picture.height}, kRackColor, 0});
  for (int row = 0; row <= rows; ++row) {
    const double y = kFrame + row * pitch_y - kShelf;
    picture.shapes.emplace_back(FilledBox{{kFrame / 3, y, picture.width - kFrame / 1.5, kShelf}, kShelfColor, 1});
  }
  for (std::size_t i = 0; i < labels.size(); ++i) {
    const double x = kFrame + static_cast<double>(static_cast<int>(i) % columns) * (tub_width + kTubGap);
    const double y = kFrame + static_cast<double>(static_cast<int>(i) / columns) * pitch_y + kTubGap / 2;
    add_tub(picture, {x, y, tub_width, tub_height}, random);
    const double askew_x = (uniform(random) - 0.5) * 6;
    const double askew_y = (uniform(random) - 0.5) * 4;
    add_label(picture, labels[i], size, x + kSideRoom + askew_x, y + kHeadRoom + askew_y, ruler);
  }
  return picture;
}

}  // namespace rackside::labels
