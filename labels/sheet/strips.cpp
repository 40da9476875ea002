#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "labels/design/text_fit.h"
#include "labels/sheet/marks.h"
#include "labels/sheet/pages.h"

namespace rackside::labels {
namespace {

constexpr double kMargin = 8;        ///< of the page, which printers leave white
constexpr double kFoot = 12;         ///< for the note
constexpr double kBetween = 6;       ///< between two strips
constexpr double kCellShare = 2.2;   ///< least width of a place's part, in heights
constexpr double kLeastPitch = 1.7;  ///< in heights: symbol and name
constexpr double kRule = 0.2;
constexpr double kInset = 1.5;  ///< white between a part and the rule beside it

/// A page turned on its side, and where strips lie on it.
struct StripPrint {
  const std::vector<Label>* places;
  double width;
  double height;
  double strip;
  double pitch;
  std::vector<std::vector<std::size_t>> strips;  ///< places by number

  std::size_t per_page() const {
    return static_cast<std::size_t>((height - kMargin - kFoot + kBetween) / (strip + kBetween));
  }
  std::size_t pages() const { return (strips.size() + per_page() - 1) / per_page(); }
};

/// A place's part is as wide as the label in it; where tubs are further apart it stands in the middle of its pitch.
double cell_width(const StripPrint& print) {
  return std::min(print.pitch, 4 * print.strip);
}

void add_part(MadePage& page, const StripPrint& print, const Label& place, double left, double y,
              const TextRuler& ruler) {
  const double width = cell_width(print) - 2 * kInset;
  const double x = left + (print.pitch - width) / 2;
  Label label = place;
  label.kind = LabelKind::strip;
  const LaidOutLabel laid_out = lay_out(label, {width, print.strip}, {kPageDpi, kPageCoarse, x, y}, ruler);
  page.picture.add(laid_out.picture, x, y);
  page.warnings.add(label, laid_out);
}

void add_strip(MadePage& page, const StripPrint& print, const std::vector<std::size_t>& members, double y,
               const TextRuler& ruler) {
  double x = kMargin;
  for (const std::size_t member : members) {
    if (x > kMargin) page.picture.shapes.emplace_back(Stroke{x, y + 2, x, y + print.strip - 2, kRule});
    add_part(page, print, (*print.places)[member], x, y, ruler);
    x += print.pitch;
  }
  add_cut_marks(page.picture, {kMargin, y, x - kMargin, print.strip});
}

MadePage make_page(const StripPrint& print, std::size_t number, const TextRuler& ruler) {
  MadePage page{blank_page(print.width, print.height), {}};
  const std::size_t first = number * print.per_page();
  const std::size_t end = std::min(first + print.per_page(), print.strips.size());
  for (std::size_t i = first; i < end; ++i) {
    add_strip(page, print, print.strips[i], kMargin + static_cast<double>(i - first) * (print.strip + kBetween), ruler);
  }
  add_note(page.picture, note_text("rack strips", number, print.pages()), kMargin, print.height - kFoot + 4,
           print.width - 2 * kMargin, ruler);
  return page;
}

/// Places follow one another until the line is full or another rack begins.
void cut_into_strips(StripPrint& print) {
  const auto per_strip = static_cast<std::size_t>((print.width - 2 * kMargin) / print.pitch);
  for (std::size_t i = 0; i < print.places->size(); ++i) {
    const bool same_rack = i > 0 && (*print.places)[i].subtitle == (*print.places)[i - 1].subtitle;
    if (!same_rack || print.strips.back().size() >= per_strip) print.strips.emplace_back();
    print.strips.back().push_back(i);
  }
}

}  // namespace

PagePlan strip_plan(const std::vector<Label>& places, Paper paper, const StripOptions& options) {
  if (places.empty()) throw core::Error(core::Fault::bad_input, "There is nothing to print: no place was given.");
  StripPrint print{&places, paper == Paper::a4 ? 297 : 279.4, paper == Paper::a4 ? 210 : 215.9, options.height, 0, {}};
  if (!(options.height >= 12 && options.height <= 80))
    throw core::Error(core::Fault::usage, "A strip is 12 to 80 mm high.");
  print.pitch = options.pitch > 0 ? options.pitch : kCellShare * options.height;
  if (!(print.pitch >= kLeastPitch * options.height && print.pitch <= print.width - 2 * kMargin)) {
    throw core::Error(core::Fault::usage,
                      "From one tub to the next may be " +
                          std::to_string(static_cast<int>(std::ceil(kLeastPitch * options.height))) + " to " +
                          std::to_string(static_cast<int>(print.width - 2 * kMargin)) +
                          " mm on a strip of this height; a lower strip may be narrower.");
  }
  cut_into_strips(print);
  PagePlan plan{"Rack strips", print.pages(), places.size(), kPageDpi, {}, {}};
  plan.make = [print](std::size_t page, const TextRuler& ruler) { return make_page(print, page, ruler); };
  return plan;
}

}  // namespace rackside::labels
