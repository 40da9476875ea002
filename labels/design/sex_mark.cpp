#include "labels/design/sex_mark.h"

#include <string_view>

#include "labels/design/text_fit.h"

namespace rackside::labels {
namespace {

// Proportions of the signs, for a height of 1.
constexpr double kStroke = 0.115;
constexpr double kFemaleWidth = 0.62;
constexpr double kMaleWidth = 0.84;
constexpr double kGap = 0.2;

std::string_view letter(LabelSex sex) {
  switch (sex) {
    case LabelSex::female:
      return "F";
    case LabelSex::male:
      return "M";
    case LabelSex::unknown:
      return "?";
  }
  return "?";
}

double sign_width(LabelSex sex) {
  if (sex == LabelSex::female) return kFemaleWidth;
  return sex == LabelSex::male ? kMaleWidth : 0;
}

double letter_width(LabelSex sex, const TextRuler& ruler) {
  return 1 / headline_height_for_width(ruler, letter(sex), Weight::bold, 1);
}

void draw_female(Picture& picture, double x, double y, double h) {
  const double stroke = kStroke * h;
  const double radius = kFemaleWidth * h / 2 - stroke / 2;
  const double middle = x + kFemaleWidth * h / 2;
  const double circle_bottom = y + stroke / 2 + 2 * radius;
  picture.shapes.emplace_back(Ring{middle, y + stroke / 2 + radius, radius, stroke});
  picture.shapes.emplace_back(Stroke{middle, circle_bottom, middle, y + h, stroke});
  const double bar_y = (circle_bottom + y + h) / 2 + stroke * 0.1;
  picture.shapes.emplace_back(Stroke{middle - 0.21 * h, bar_y, middle + 0.21 * h, bar_y, stroke});
}

void draw_male(Picture& picture, double x, double y, double h) {
  const double stroke = kStroke * h;
  const double radius = 0.31 * h - stroke / 2;
  const double cx = x + 0.31 * h;
  const double cy = y + h - 0.31 * h;
  const double tip_x = x + kMaleWidth * h - stroke / 2;
  const double tip_y = y + stroke / 2;
  picture.shapes.emplace_back(Ring{cx, cy, radius, stroke});
  picture.shapes.emplace_back(Stroke{cx + radius * 0.7071, cy - radius * 0.7071, tip_x, tip_y, stroke});
  picture.shapes.emplace_back(Stroke{tip_x - 0.3 * h, tip_y, tip_x + stroke / 2, tip_y, stroke});
  picture.shapes.emplace_back(Stroke{tip_x, tip_y - stroke / 2, tip_x, tip_y + 0.3 * h, stroke});
}

}  // namespace

double sex_mark_width(LabelSex sex, const TextRuler& ruler) {
  const double sign = sign_width(sex);
  return sign + (sign > 0 ? kGap : 0) + letter_width(sex, ruler);
}

void draw_sex_mark(Picture& picture, LabelSex sex, double x, double y, double height, const TextRuler& ruler) {
  if (sex == LabelSex::female) draw_female(picture, x, y, height);
  if (sex == LabelSex::male) draw_male(picture, x, y, height);
  const double sign = sign_width(sex) * height;
  const double left = x + sign + (sign > 0 ? kGap * height : 0);
  const Box box{left, y, letter_width(sex, ruler) * height * 1.01, height};
  picture.shapes.emplace_back(fit_headline(ruler, letter(sex), box, {Weight::bold, Align::start, kBlack}));
}

}  // namespace rackside::labels
