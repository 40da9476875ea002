#include "labels/design/layout.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "core/base/error.h"
#include "labels/design/rows.h"
#include "labels/design/sex_mark.h"
#include "labels/design/text_fit.h"

namespace rackside::labels {
namespace {

constexpr double kMmPerInch = 25.4;
constexpr double kLeastTextMm = 1.5;  ///< of the em; smaller print is not read on a tub

std::string in_mm(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.1f", std::ceil(value * 10 - 1e-6) / 10);
  return text;
}

/// The measures that a form of label goes by.
struct Form {
  double edge;          ///< white kept at the label's edge outside the quiet zone
  double padding;       ///< around the text column
  double symbol_share;  ///< most of the width that symbol and quiet zone take
  double column_gap;    ///< more white between the quiet zone and the text
  double caption;       ///< em of the code under the symbol; 0 where the code is a row of the column
};

bool is_low(LabelSize size) {
  return size.height_mm < 27 || size.width_mm < 45;
}

Form form_of(const Label& label, LabelSize size) {
  if (label.kind == LabelKind::scan_line) return {1.0, 2.5, 0.3, 3.0, 0};
  if (is_low(size)) return {0.4, 1.2, 0.56, 0, 0};
  return {0.6, 2.2, 0.46, 0, std::clamp(0.058 * size.height_mm, 1.9, 2.8)};
}

[[noreturn]] void refuse(const Label& label, LabelSize size, int dpi, const Form& form, int modules) {
  const double side = modules * kLeastModuleDots * kMmPerInch / dpi;
  const double high = side + 2 * form.edge + form.caption * 1.2;
  const double wide = (side + 2 * form.edge) / form.symbol_share;
  const bool link = label.payload.size() > core::Code::kLength;
  throw core::Error(
      core::Fault::bad_input,
      "The label of " + label.title + " would print its symbol with modules under " + std::to_string(kLeastModuleDots) +
          " dots, which no scanner reads: " + in_mm(size.width_mm) + " x " + in_mm(size.height_mm) + " mm at " +
          std::to_string(dpi) + " dpi is too small for it. What fits: a label of at least " + in_mm(wide) + " x " +
          in_mm(high) + " mm, " + (link ? "the bare code instead of the link, " : "") + "or a printer with more dots.");
}

/// Lays out one label; its members live as long as that takes.
class Layout {
 public:
  Layout(const Label& label, LabelSize size, const DotGrid& grid, const TextRuler& ruler)
      : label_(label), size_(size), grid_(grid), ruler_(ruler), form_(form_of(label, size)) {}

  LaidOutLabel run() {
    out_.picture.width = size_.width_mm;
    out_.picture.height = size_.height_mm;
    place_symbol();
    fill_column();
    if (form_.caption > 0) add_code({symbol_.x, symbol_.bottom(), symbol_.width, form_.caption * 1.05}, Align::center);
    return std::move(out_);
  }

 private:
  double dot() const { return kMmPerInch / grid_.dpi; }

  /// The nearest place on the grid, which begins where the label's own origin is at -`label_at`.
  double to_grid(double mm, double label_at) const {
    const double step = dot() * (out_.module_dots % grid_.coarse == 0 ? grid_.coarse : 1);
    return std::round((mm + label_at) / step) * step - label_at;
  }

  int whole_dots(double mm) const {
    const int dots = static_cast<int>(std::floor(mm / dot() + 1e-9));
    return dots >= kLeastModuleDots * grid_.coarse ? dots - dots % grid_.coarse : dots;
  }

  void place_symbol() {
    PlacedSymbol placed{0, 0, 0, make_symbol(label_.payload), label_.payload, label_.title};
    const int modules = placed.symbol.size_with_quiet();
    const double side = std::min(size_.height_mm - 2 * form_.edge - form_.caption * 1.2,
                                 std::min(size_.width_mm * form_.symbol_share, 60.0));
    out_.module_dots = whole_dots(side / modules);
    if (out_.module_dots < kLeastModuleDots) refuse(label_, size_, grid_.dpi, form_, modules);
    out_.module_mm = placed.module = out_.module_dots * dot();
    const double quiet = placed.module * kQuietModules;
    const double block = placed.side() + 2 * quiet + form_.caption * 1.2;
    placed.x = to_grid(form_.edge + quiet, grid_.label_x);
    placed.y = to_grid((size_.height_mm - block) / 2 + quiet, grid_.label_y);
    symbol_ = placed.box_with_quiet();
    out_.picture.shapes.emplace_back(std::move(placed));
  }

  void add_code_row() {
    rows_.push_back({2.1, 0.9, 2.1, kLeastPart, [this](const Box& box) { add_code(box, Align::start); }});
  }

  /// The code is the smallest print of all, but can still be read off and typed.
  void add_code(Box box, Align align) {
    const double height = std::min(box.height, std::max(kCodePart * smallest_, kLeastCodeMm));
    box.y += (box.height - height) / 2;
    box.height = height;
    add(fit_line(ruler_, label_.code, box, {Weight::regular, align, kBlack}));
  }

  void fill_column() {
    const double x = symbol_.right() + form_.column_gap;
    column_ = {x, form_.padding, size_.width_mm - form_.padding - x, size_.height_mm - 2 * form_.padding};
    collect_rows();
    drop_what_has_no_room();
    const std::vector<Box> boxes = stack_rows(rows_, column_);
    for (std::size_t i = 0; i < rows_.size(); ++i) rows_[i].draw(boxes[i]);
  }

  void collect_rows() {
    rows_.clear();
    add_title();
    if (!dropped("the subtitle")) add_text(label_.subtitle, 2.9, 1.3, Weight::regular);
    add_sex_and_prey();
    add_warning();
    add_genes();
    add_possible_genes();
    add_foot();
    if (form_.caption == 0) add_code_row();
    if (label_.marker == MarkerBox::blank && !dropped("the marker's box")) add_marker_box();
  }

  bool dropped(const char* field) const {
    return std::find(out_.left_out.begin(), out_.left_out.end(), field) != out_.left_out.end();
  }

  /// Print too small to read is worse than a field less; what is left out is reported. Names, sex, prey, warning and
  /// genes are never left out.
  void drop_what_has_no_room() {
    const std::pair<const char*, bool> order[] = {
        {"the marker's box", label_.marker == MarkerBox::blank},
        {"the parents", !label_.parents.empty()},
        {"the hatch year", !label_.hatch_year.empty()},
        {"the subtitle", !label_.subtitle.empty()},
    };
    for (const auto& [field, present] : order) {
      if (smallest_row() >= kLeastTextMm) return;
      if (!present) continue;
      out_.left_out.emplace_back(field);
      collect_rows();
    }
  }

  double smallest_row() const {
    double weight = 1e9;
    for (const Row& row : rows_) weight = std::min(weight, row.weight);
    return weight * plain_unit(rows_, column_.height);
  }

  void add_title() {
    if (label_.kind == LabelKind::scan_line) return add_text(label_.title, 9, 0, Weight::bold, 9.0);
    const double cap = headline_height_for_width(ruler_, label_.title, Weight::bold, column_.width);
    rows_.push_back({is_low(size_) ? 8.5 : 10.0, 0, cap, kTitleLeastPart,
                     [this](const Box& box) { add(fit_headline(ruler_, label_.title, box, {Weight::bold})); }});
  }

  void add_text(const std::string& text, double weight, double gap, Weight look, double most = 5.0) {
    if (text.empty()) return;
    const double cap = std::min(most, height_for_width(ruler_, text, look, column_.width));
    rows_.push_back({weight, gap, cap, kLeastPart,
                     [this, text, look](const Box& box) { add(fit_line(ruler_, text, box, {look})); }});
  }

  void add_sex_and_prey() {
    if (!label_.sex && label_.prey.empty()) return;
    const double sex = label_.sex ? sex_mark_width(*label_.sex, ruler_) : 0;
    const double prey = label_.prey.empty() ? 0 : 1 / height_for_width(ruler_, label_.prey, Weight::bold, 1);
    const double gap = sex > 0 && prey > 0 ? kSexGap : 0;
    const double cap = std::min(11.0, column_.width / (sex + gap + prey));
    rows_.push_back(
        {5.4, 1.9, cap, kLeastPart, [this, sex, gap](const Box& box) { draw_sex_and_prey(box, sex, gap); }});
  }

  void draw_sex_and_prey(const Box& row, double sex, double gap) {
    const double height = std::min(row.height, row.width / std::max(1.0, sex + gap + 0.8));
    const double y = row.y + (row.height - height) / 2;
    if (label_.sex) draw_sex_mark(out_.picture, *label_.sex, row.x, y, height, ruler_);
    if (label_.prey.empty()) return;
    const double used = (sex + gap) * height;
    const Box box{row.x + used, row.y, row.width - used, row.height};
    add(fit_line(ruler_, label_.prey, box, {Weight::bold}));
  }

  void add_warning() {
    if (label_.warning.empty()) return;
    rows_.push_back({5.0, 1.3, 9.0, kLeastPart, [this](const Box& box) { draw_warning(box); }});
  }

  void draw_warning(const Box& band) {
    out_.picture.shapes.emplace_back(FilledBox{band, kBlack, band.height * 0.12});
    const double inset = band.height * 0.18;
    const Box inner{band.x + inset, band.y + inset, band.width - 2 * inset, band.height - 2 * inset};
    add(fit_headline(ruler_, label_.warning, inner, {Weight::bold, Align::center, kWhite}, kWarningLeastPart));
  }

  /// How many lines a list may take, and the em at which it is broken into them: about what it will have.
  int most_lines() const { return size_.height_mm > 45 ? 3 : size_.height_mm > 24 ? 2 : 1; }
  double list_size() const { return size_.height_mm * (is_low(size_) ? 0.09 : 0.08); }

  void add_genes() {
    const auto lines = pack_items(ruler_, label_.genes, Weight::bold, list_size(), column_.width, most_lines());
    for (std::size_t i = 0; i < lines.size(); ++i) add_text(lines[i], 3.5, i == 0 ? 1.4 : 0.1, Weight::bold);
  }

  void add_possible_genes() {
    if (label_.possible_genes.empty()) return;
    std::vector<std::string> genes = label_.possible_genes;
    genes.front() = "poss. " + genes.front();
    const auto lines = pack_items(ruler_, genes, Weight::regular, list_size() * 0.83, column_.width, most_lines());
    for (std::size_t i = 0; i < lines.size(); ++i) add_text(lines[i], 2.9, i == 0 ? 0.6 : 0.1, Weight::regular);
  }

  void add_foot() {
    const std::string year = dropped("the hatch year") ? "" : label_.hatch_year;
    const std::string parents = dropped("the parents") ? "" : label_.parents;
    const std::string between = year.empty() || parents.empty() ? "" : "   ";
    add_text(year + between + parents, 2.4, 1.0, Weight::regular, 4.0);
  }

  void add_marker_box() {
    rows_.push_back({4.6, 1.5, 12.0, kLeastPart, [this](const Box& box) {
                       out_.picture.shapes.emplace_back(OutlinedBox{box, std::max(0.25, 2 * dot()), 0.8});
                     }});
  }

  void add(TextLine line) {
    smallest_ = std::min(smallest_, line.size);
    out_.picture.shapes.emplace_back(std::move(line));
  }

  static constexpr double kSexGap = 0.45;
  static constexpr double kCodePart = 0.92;
  static constexpr double kLeastCodeMm = 1.7;
  static constexpr double kLeastPart = 0.6;
  static constexpr double kTitleLeastPart = 0.35;    // a name is made smaller for long before it is cut
  static constexpr double kWarningLeastPart = 0.45;  // and a warning still longer

  const Label& label_;
  LabelSize size_;
  DotGrid grid_;
  const TextRuler& ruler_;
  Form form_;
  LaidOutLabel out_;
  double smallest_ = 1e9;  ///< em of the print so far
  Box symbol_;
  Box column_;
  std::vector<Row> rows_;
};

}  // namespace

LaidOutLabel lay_out(const Label& label, LabelSize size, const DotGrid& grid, const TextRuler& ruler) {
  return Layout(label, size, grid, ruler).run();
}

}  // namespace rackside::labels
