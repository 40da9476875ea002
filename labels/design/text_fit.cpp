#include "labels/design/text_fit.h"

#include <algorithm>

namespace rackside::labels {
namespace {

constexpr double kLeastFittedMm = 1.4;  ///< never made smaller than this to fit a width

/// What a line needs of width for an em of 1: ink that hangs out at either side counts.
double needed_width(const TextExtent& extent) {
  return std::max(extent.advance, extent.ink_right) - std::min(0.0, extent.ink_left);
}

double headline_above(const TextExtent& extent) {
  return std::max(kCapHeight, extent.ink_above);
}
double headline_height(const TextExtent& extent) {
  return headline_above(extent) + std::max(0.0, extent.ink_below);
}

double shrink_to_width(double size, const TextExtent& extent, double width, double least) {
  const double needed = needed_width(extent) * size;
  if (needed <= width) return size;
  return std::max({size * width / needed, size * least, std::min(size, kLeastFittedMm)});
}

/// The white before the first letter's ink lies outside, so that rows of different sizes stand on one edge. Not where
/// the line will be cut: another letter may then come first.
Box hung(const Box& box, const TextLook& look, const TextExtent& extent, double size) {
  if (look.align != Align::start || needed_width(extent) * size > box.width) return box;
  const double white = std::max(0.0, extent.ink_left) * size;
  return {box.x - white, box.y, box.width + white, box.height};
}

TextLine make_line(std::string_view text, const Box& box, const TextLook& look, double size, double baseline) {
  return {box, baseline, size, std::string(text), look.weight, look.align, look.color, look.cut};
}

}  // namespace

TextLine fit_line(const TextRuler& ruler, std::string_view text, const Box& box, const TextLook& look, double least) {
  const TextExtent extent = ruler.measure(text, look.weight);
  const double ink_height = extent.ink_above + extent.ink_below;
  double size = std::min(box.height, ink_height > 0 ? box.height / ink_height : box.height);
  size = shrink_to_width(size, extent, box.width, least);
  double baseline = box.y + (box.height - size) / 2 + kAscent * size;
  baseline = std::max(baseline, box.y + extent.ink_above * size);
  baseline = std::min(baseline, box.bottom() - extent.ink_below * size);
  return make_line(text, hung(box, look, extent, size), look, size, baseline);
}

TextLine fit_headline(const TextRuler& ruler, std::string_view text, const Box& box, const TextLook& look,
                      double least) {
  const TextExtent extent = ruler.measure(text, look.weight);
  const double height = headline_height(extent);
  const double size = shrink_to_width(box.height / height, extent, box.width, least);
  const double top = box.y + (box.height - height * size) / 2;
  return make_line(text, hung(box, look, extent, size), look, size, top + headline_above(extent) * size);
}

double height_for_width(const TextRuler& ruler, std::string_view text, Weight weight, double width) {
  const TextExtent extent = ruler.measure(text, weight);
  const double needed = needed_width(extent);
  return needed > 0 ? width / needed * std::max(1.0, extent.ink_above + extent.ink_below) : width;
}

double headline_height_for_width(const TextRuler& ruler, std::string_view text, Weight weight, double width) {
  const TextExtent extent = ruler.measure(text, weight);
  const double needed = needed_width(extent);
  return needed > 0 ? width / needed * headline_height(extent) : width;
}

std::optional<std::pair<std::string, std::string>> two_lines(const TextRuler& ruler, std::string_view text,
                                                             Weight weight) {
  std::optional<std::pair<std::string, std::string>> best;
  double narrowest = 1e9;
  for (std::size_t at = 1; at + 1 < text.size(); ++at) {
    const bool space = text[at] == ' ';
    if (!space && text[at - 1] != '-') continue;
    const std::string first(text.substr(0, at));
    const std::string second(text.substr(space ? at + 1 : at));
    const double width =
        std::max(needed_width(ruler.measure(first, weight)), needed_width(ruler.measure(second, weight)));
    if (width >= narrowest) continue;
    narrowest = width;
    best.emplace(first, second);
  }
  return best;
}

std::vector<std::string> pack_items(const TextRuler& ruler, const std::vector<std::string>& items, Weight weight,
                                    double size, double width, int most_lines) {
  const auto fits = [&](const std::string& line) { return needed_width(ruler.measure(line, weight)) * size <= width; };
  std::vector<std::string> lines;
  for (std::size_t next = 0; next < items.size(); ++next) {
    const std::size_t after = items.size() - next - 1;
    const bool last_line = static_cast<int>(lines.size()) == most_lines;
    // On the last line there must be room for the count of what does not fit any more.
    const std::string tail = last_line && after > 0 ? ", +" + std::to_string(after) : "";
    if (!lines.empty() && fits(lines.back() + ", " + items[next] + tail)) {
      lines.back() += ", " + items[next];
    } else if (!last_line) {
      if (!lines.empty()) lines.back() += ",";
      lines.push_back(items[next]);
    } else {
      lines.back() += ", +" + std::to_string(after + 1);
      break;
    }
  }
  return lines;
}

}  // namespace rackside::labels
