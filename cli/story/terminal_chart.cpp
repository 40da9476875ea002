#include "cli/story/terminal_chart.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <functional>

#include "cli/story/axis.h"

namespace rackside::cli {
namespace {

using core::DayNumber;
using core::Kind;
using core::Life;
using Part = ChartLine::Part;

constexpr int kDotsWide = 2;
constexpr int kDotsHigh = 4;

std::string utf8(char32_t c) {
  std::string out;
  if (c < 0x80) return std::string(1, static_cast<char>(c));
  if (c < 0x800) {
    out += static_cast<char>(0xC0 | (c >> 6));
  } else {
    out += static_cast<char>(0xE0 | (c >> 12));
    out += static_cast<char>(0x80 | ((c >> 6) & 0x3F));
  }
  return out + static_cast<char>(0x80 | (c & 0x3F));
}

/// Dots in a raster, shown as Braille patterns (Unicode, block 2800: the bit of each of the eight dots), or as stars.
class Dots {
 public:
  Dots(int columns, int rows) : columns_(columns), rows_(rows), bits_(static_cast<std::size_t>(columns * rows)) {}

  int width() const { return columns_ * kDotsWide; }
  int height() const { return rows_ * kDotsHigh; }

  void set(int x, int y) {
    if (x < 0 || y < 0 || x >= width() || y >= height()) return;
    constexpr std::array<std::array<std::uint8_t, 2>, 4> kBits = {
        {{0x01, 0x08}, {0x02, 0x10}, {0x04, 0x20}, {0x40, 0x80}}};
    bits_[static_cast<std::size_t>(y / kDotsHigh * columns_ + x / kDotsWide)] |=
        kBits[static_cast<std::size_t>(y % kDotsHigh)][static_cast<std::size_t>(x % kDotsWide)];
  }

  void line(double x1, double y1, double x2, double y2) {
    const int steps = static_cast<int>(std::max({std::abs(x2 - x1), std::abs(y2 - y1), 1.0}));
    for (int i = 0; i <= steps; ++i) {
      const double t = static_cast<double>(i) / steps;
      set(static_cast<int>(std::lround(x1 + t * (x2 - x1))), static_cast<int>(std::lround(y1 + t * (y2 - y1))));
    }
  }

  std::string row(int row, Glyphs glyphs) const {
    std::string out;
    for (int column = 0; column < columns_; ++column) {
      const std::uint8_t bits = bits_[static_cast<std::size_t>(row * columns_ + column)];
      out += glyphs == Glyphs::unicode ? (bits == 0 ? " " : utf8(0x2800U + bits)) : std::string(bits == 0 ? " " : "*");
    }
    return out;
  }

 private:
  int columns_;
  int rows_;
  std::vector<std::uint8_t> bits_;
};

class Chart {
 public:
  Chart(const Life& life, int columns, int rows, Glyphs glyphs)
      : life_(life), columns_(columns), rows_(rows), glyphs_(glyphs), first_(life.first_day()), last_(life.last_day()) {
    if (last_ - first_ < 1) first_ = last_ - 1;
  }

  std::vector<ChartLine> draw() {
    if (life_.weights.empty() && life_.nights.empty() && life_.marks.empty() && life_.visits.empty()) return {};
    add_weights();
    add_meals();
    add_refusals();
    add_marks(Part::sheds, "sheds", "◦", "s", [](const core::LifeMark& mark) { return mark.kind == Kind::shed; });
    add_company();
    add_marks(Part::eggs, "eggs", "●", "o", [](const core::LifeMark& mark) { return mark.kind == Kind::laid; });
    add_marks(Part::treatment, "treated", "+", "+",
              [](const core::LifeMark& mark) { return mark.kind == Kind::treated || mark.kind == Kind::regurgitated; });
    add_axis();
    return std::move(out_);
  }

 private:
  double place(DayNumber day) const { return static_cast<double>(day - first_) / static_cast<double>(last_ - first_); }
  int column(DayNumber day) const { return std::clamp(static_cast<int>(place(day) * columns_), 0, columns_ - 1); }

  void add_weights() {
    if (life_.weights.empty()) return;
    double least = 1e18;
    double most = 0;
    for (const auto& [day, tenths] : life_.weights) {
      least = std::min(least, static_cast<double>(tenths) / 10);
      most = std::max(most, static_cast<double>(tenths) / 10);
    }
    const std::vector<double> steps = round_steps(least, most, 4);
    const double bottom = steps.front();
    const double top = steps.back();
    Dots dots(columns_, rows_);
    const auto x = [&](DayNumber day) { return place(day) * (dots.width() - 1); };
    const auto y = [&](std::int64_t tenths) {
      return (top - static_cast<double>(tenths) / 10) / (top - bottom) * (dots.height() - 1);
    };
    for (std::size_t i = 0; i < life_.weights.size(); ++i) {
      const auto& [day, tenths] = life_.weights[i];
      const auto& [before, tenths_before] = life_.weights[i == 0 ? 0 : i - 1];
      dots.line(x(before), y(tenths_before), x(day), y(tenths));
    }
    for (int row = 0; row < rows_; ++row) {
      std::string label;
      for (const double step : steps) {
        const double at = (top - step) / (top - bottom) * (rows_ - 1);
        if (std::lround(at) == row) label = fmt::format("{:g} g", step);
      }
      out_.push_back({Part::weight, label, dots.row(row, glyphs_)});
    }
  }

  void add_meals() {
    std::vector<int> counts(static_cast<std::size_t>(columns_));
    int most = 0;
    for (const core::LifeNight& one : life_.nights)
      if (one.outcome == "ate") most = std::max(most, ++counts[static_cast<std::size_t>(column(one.night))]);
    if (most == 0) return;
    std::string text;
    for (const int count : counts) {
      if (count == 0) {
        text += " ";
      } else if (glyphs_ == Glyphs::ascii) {
        text += count > 9 ? "#" : fmt::to_string(count);
      } else {
        text += utf8(0x2581U + static_cast<char32_t>(most == 1 ? 3 : (count * 7 + most / 2) / most));
      }
    }
    out_.push_back({Part::meals, "ate", text});
  }

  void put(std::vector<std::string>& cells, DayNumber day, const char* sign) const {
    cells[static_cast<std::size_t>(column(day))] = sign;
  }
  void add_row(Part part, const char* label, const std::vector<std::string>& cells) {
    std::string text;
    bool any = false;
    for (const std::string& cell : cells) {
      text += cell;
      any = any || cell != " ";
    }
    if (any) out_.push_back({part, label, text});
  }
  std::vector<std::string> empty_row() const {
    return std::vector<std::string>(static_cast<std::size_t>(columns_), " ");
  }
  const char* sign(const char* unicode, const char* ascii) const {
    return glyphs_ == Glyphs::unicode ? unicode : ascii;
  }

  void add_refusals() {
    auto cells = empty_row();
    for (const core::LifeNight& one : life_.nights)
      if (one.outcome == "refused") put(cells, one.night, sign("×", "x"));
    add_row(Part::refusals, "refused", cells);
  }

  void add_marks(Part part, const char* label, const char* unicode, const char* ascii,
                 const std::function<bool(const core::LifeMark&)>& wanted) {
    auto cells = empty_row();
    for (const core::LifeMark& mark : life_.marks)
      if (wanted(mark)) put(cells, mark.day, sign(unicode, ascii));
    add_row(part, label, cells);
  }

  void add_company() {
    auto cells = empty_row();
    for (const core::LifeStay& visit : life_.visits)
      for (int at = column(visit.since); at <= column(visit.until.value_or(last_)); ++at)
        cells[static_cast<std::size_t>(at)] = sign("━", "=");
    for (const core::LifeMark& mark : life_.marks)
      if (mark.kind == Kind::locked) put(cells, mark.day, sign("╋", "#"));
    add_row(Part::company, "paired", cells);
  }

  void add_axis() {
    constexpr int kTickRoom = 8;
    std::string text(static_cast<std::size_t>(columns_), ' ');
    int free_from = 0;
    for (const TimeTick& tick : time_ticks(first_, last_, std::max(2, columns_ / kTickRoom))) {
      const int at = column(tick.day);
      const int width = static_cast<int>(tick.text.size());
      if (at < free_from || at + width > columns_) continue;
      text.replace(static_cast<std::size_t>(at), tick.text.size(), tick.text);
      free_from = at + width + 1;
    }
    out_.push_back({Part::axis, "", text});
  }

  const Life& life_;
  int columns_;
  int rows_;
  Glyphs glyphs_;
  DayNumber first_;
  DayNumber last_;
  std::vector<ChartLine> out_;
};

}  // namespace

std::vector<ChartLine> terminal_chart(const Life& life, int columns, int rows, Glyphs glyphs) {
  return Chart(life, columns, rows, glyphs).draw();
}

Glyphs glyphs_of_terminal() {
  const char* terminal = std::getenv("TERM");
  return terminal && std::string_view(terminal) == "dumb" ? Glyphs::ascii : Glyphs::unicode;
}

}  // namespace rackside::cli
