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
  double side_box;      ///< width of a marker's box at the right; 0 where it is a row of the column
};

std::string joined(const std::vector<std::string>& parts, std::string_view between) {
  std::string out;
  for (std::size_t i = 0; i < parts.size(); ++i) out += (i == 0 ? "" : std::string(between)) + parts[i];
  return out;
}

bool is_low(LabelSize size) {
  return size.height_mm < 27 || size.width_mm < 45;
}

Form form_of(const Label& label, LabelSize size) {
  const bool wide = size.width_mm > 2.2 * size.height_mm && size.width_mm > 80;
  const double side_box = wide ? std::clamp(0.19 * size.width_mm, 14.0, 24.0) : 0;
  if (label.kind == LabelKind::scan_line) return {1.0, 2.5, 0.3, 3.0, 0, 0};
  if (is_low(size)) return {0.4, 1.2, 0.56, 0, 0, side_box};
  return {0.6, 2.2, 0.46, 0.4, std::clamp(0.058 * size.height_mm, 1.9, 2.8), side_box};
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

/// What a rank stands for: the share of the column's height, the white before it, and the most in millimetres.
struct RankMeasures {
  double share;
  double gap;
  double most;
};
RankMeasures measures_of(TextRank rank) {
  switch (rank) {
    case TextRank::huge:
      return {10.0, 0, 1e9};
    case TextRank::large:
      return {5.4, 2.3, 11.0};
    case TextRank::medium:
      return {3.7, 1.4, 6.5};
    case TextRank::small:
      return {3.0, 0.9, 5.0};
    case TextRank::tiny:
      return {2.4, 1.0, 4.0};
  }
  return {};
}

/// Lays out one label; its members live as long as that takes.
class Layout {
 public:
  Layout(const Label& label, const Design& design, LabelSize size, const DotGrid& grid, const TextRuler& ruler)
      : label_(label), design_(design), size_(size), grid_(grid), ruler_(ruler), form_(form_of(label, size)) {
    shown_.assign(design.rows.size(), true);
  }

  LaidOutLabel run() {
    out_.picture.width = size_.width_mm;
    out_.picture.height = size_.height_mm;
    place_symbol();
    fill_column();
    if (form_.caption > 0) add_code({symbol_.x, symbol_.bottom(), symbol_.width, form_.caption * 1.05}, Align::center);
    return std::move(out_);
  }

 private:
  struct Column {
    Box box;
    std::vector<Row> rows;
  };

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
    const double side =
        std::min(size_.height_mm - 2 * form_.edge - form_.caption * 1.2, size_.width_mm * form_.symbol_share);
    out_.module_dots = whole_dots(std::min(side / modules, kMostModuleMm));
    if (out_.module_dots < kLeastModuleDots) refuse(label_, size_, grid_.dpi, form_, modules);
    out_.module_mm = placed.module = out_.module_dots * dot();
    const double quiet = placed.module * kQuietModules;
    const double block = placed.side() + 2 * quiet + form_.caption * 1.2;
    placed.x = to_grid(form_.edge + quiet, grid_.label_x);
    placed.y = to_grid((size_.height_mm - block) / 2 + quiet, grid_.label_y);
    symbol_ = placed.box_with_quiet();
    out_.picture.shapes.emplace_back(std::move(placed));
  }

  void fill_column() {
    const double x = symbol_.right() + form_.column_gap;
    column_ = {x, form_.padding, size_.width_mm - form_.padding - x, size_.height_mm - 2 * form_.padding};
    place_side_box();
    whole_ = column_;
    collect_rows();
    drop_what_has_no_room();
    out_.left_out.insert(out_.left_out.end(), too_long_.begin(), too_long_.end());
    double unit = 1e9;
    for (Column& column : columns_) {
      keep_ranks(column.rows);
      for (Row& row : column.rows) row.cap = std::min(row.cap, row.weight * unit);
      const std::vector<Box> boxes = stack_rows(column.rows, column.box);
      for (std::size_t i = 0; i < column.rows.size(); ++i) {
        column.rows[i].draw(boxes[i]);
        // What ranks higher stands in the first column: the second grows no larger.
        unit = std::min(unit, boxes[i].height / column.rows[i].weight);
      }
    }
  }

  /// What ranks lower grows no larger than what ranks higher and had to be made smaller for its length. The name is
  /// left out of this: a long one would make all else tiny.
  static void keep_ranks(std::vector<Row>& rows) {
    for (std::size_t i = 1; i < rows.size(); ++i) {
      if (!rows[i].ranked) continue;
      for (std::size_t j = 1; j < rows.size(); ++j) {
        if (rows[j].ranked && rows[j].weight < rows[i].weight)
          rows[j].cap = std::min(rows[j].cap, std::max(rows[i].cap, kNeverUnder));
      }
    }
  }

  void place_side_box() {
    const bool wanted = std::any_of(design_.rows.begin(), design_.rows.end(),
                                    [](const DesignRow& row) { return row.what == DesignRow::What::box; });
    if (!wanted) form_.side_box = 0;
    if (form_.side_box == 0) return;
    const double gap = form_.padding;
    add_outline({column_.right() - form_.side_box, column_.y, form_.side_box, column_.height});
    column_.width -= form_.side_box + gap;
  }

  void collect_rows() {
    columns_.clear();
    too_long_.clear();
    const std::size_t second = rows_of_first_column();
    const bool two = second > 0;
    begin_column({whole_.x, whole_.y, whole_.width * (two ? kFirstColumn : 1), whole_.height});
    for (std::size_t i = 0; i < design_.rows.size(); ++i) {
      if (two && i == second) {
        const double x = column_.right() + kBetweenColumns * whole_.height;
        begin_column({x, whole_.y, whole_.right() - x, whole_.height});
      }
      if (shown_[i]) add_row(design_.rows[i]);
    }
    if (form_.caption == 0) add_code_row();
  }

  void begin_column(const Box& box) {
    column_ = box;
    columns_.push_back({box, {}});
  }

  void push_row(Row row) { columns_.back().rows.push_back(std::move(row)); }

  /// On a label that is very wide for its height the text stands in two columns: name, sex and warning in the first.
  /// How many rows of the design those are; 0 for one column.
  std::size_t rows_of_first_column() const {
    const auto speaks = [this](const DesignRow& row) {
      return row.what == DesignRow::What::line && !say(row, label_).says_nothing();
    };
    const auto lines = std::count_if(design_.rows.begin(), design_.rows.end(), speaks);
    const double ratio = whole_.width / whole_.height;
    const bool wide = ratio >= kWideColumn && lines >= kLeastLinesForTwo;
    const bool full = ratio >= kWideEnough && lines >= kManyLines;
    if (!wide && !full) return 0;
    std::size_t first = 0;
    const auto leads = [](const DesignRow& row) {
      const bool large = row.rank == TextRank::huge || row.rank == TextRank::large;
      return row.what == DesignRow::What::band || (row.what == DesignRow::What::line && large);
    };
    while (first < design_.rows.size() && leads(design_.rows[first])) ++first;
    return first;
  }

  void add_row(const DesignRow& row) {
    switch (row.what) {
      case DesignRow::What::line:
        return add_line_row(row);
      case DesignRow::What::band:
        return add_band(say(row, label_));
      case DesignRow::What::box:
        if (form_.side_box == 0) add_marker_box();
        return;
      case DesignRow::What::boxes:
        return add_boxes(row);
    }
  }

  /// The row without those parts behind a dot that would be cut in their middle: "hatched Aug 2026" says more than
  /// "hatched Aug … P-2". What is left out is reported.
  DesignRow with_room(const DesignRow& row) {
    DesignRow kept = row;
    while (!is_needed(kept)) {
      const std::string text = say(kept, label_).text;
      if (text.empty() || height_for_width(ruler_, text, kept.weight, column_.width) >= kLeastTextMm) break;
      const auto dot = std::find_if(kept.pieces.rbegin(), kept.pieces.rend(),
                                    [](const DesignPiece& piece) { return piece.what == DesignPiece::What::dot; });
      if (dot == kept.pieces.rend()) break;
      DesignRow rest = kept;
      rest.pieces.assign(dot.base(), kept.pieces.end());
      kept.pieces.erase(std::prev(dot.base()), kept.pieces.end());
      if (!say(rest, label_).says_nothing()) too_long_.push_back(subject_of(rest));
    }
    return kept;
  }

  void add_line_row(const DesignRow& whole) {
    const DesignRow row = with_room(whole);
    const SaidRow said = say(row, label_);
    if (said.says_nothing()) return;
    if (!said.items.empty()) return add_list(row, said);
    if (label_.kind == LabelKind::scan_line && row.rank == TextRank::huge) return add_scan_title(said.text);
    if (row.rank == TextRank::huge && !said.text.empty()) return add_headline(said, row.weight);
    if (said.sex) return add_sex_row(row, said);
    add_text(said.text, row.rank, row.weight, measures_of(row.rank).gap);
  }

  /// Print too small to read is worse than a field less; what is left out is reported. The last and smallest goes
  /// first; names, sex, prey, warning and genes never.
  void drop_what_has_no_room() {
    while (smallest_row() < kLeastTextMm) {
      const auto next = next_to_drop();
      if (!next) return;
      shown_[*next] = false;
      const DesignRow& row = design_.rows[*next];
      const bool box = row.what == DesignRow::What::box || row.what == DesignRow::What::boxes;
      if (box || !say(row, label_).says_nothing()) out_.left_out.push_back(subject_of(row));
      collect_rows();
    }
  }

  std::optional<std::size_t> next_to_drop() const {
    std::optional<std::size_t> found;
    int found_rank = -1;
    for (std::size_t i = 0; i < design_.rows.size(); ++i) {
      const DesignRow& row = design_.rows[i];
      if (!shown_[i] || is_needed(row)) continue;
      if (row.what == DesignRow::What::box && form_.side_box > 0) continue;
      const bool box = row.what == DesignRow::What::box || row.what == DesignRow::What::boxes;
      const int rank = only_explains(row) ? 101 : box ? 100 : static_cast<int>(row.rank);
      if (rank < found_rank) continue;
      found_rank = rank;
      found = i;
    }
    return found;
  }

  double smallest_row() const {
    double smallest = 1e9;
    for (const Column& column : columns_) {
      double weight = 1e9;
      for (const Row& row : column.rows) weight = std::min(weight, row.weight);
      smallest = std::min(smallest, weight * plain_unit(column.rows, column.box.height));
    }
    return smallest;
  }

  // ---- rows

  /// A name on one line, or on two where that gives larger letters; with the sex at its right where the design puts
  /// both in one line.
  void add_headline(const SaidRow& said, Weight weight) {
    note_missing(said.text, weight);
    // Room for the wider of the two signs, so that a rack's cards look alike.
    const double mark = std::max(sex_mark_width(LabelSex::male, ruler_), sex_mark_width(LabelSex::female, ruler_));
    const Headline head{said.sex, said.sex ? mark : 0, weight};
    const double one = height_beside(head, said.text);
    const double share = is_low(size_) ? 8.5 : 10.0;
    const auto broken = two_lines(ruler_, said.text, weight);
    if (broken) {
      const double two = std::min(height_beside(head, broken->first), height_beside(head, broken->second));
      // What one line has: its share of a column where everything is shown.
      const double room = share / 32 * column_.height;
      const double each = std::min(two, room * kTwoLineGrowth / (2 + kLineGap));
      const bool would_be_cut = one < kTitleLeastPart * room;
      if (each > one * (would_be_cut ? 1.05 : least_gain(said))) {
        // Alone on its line a name with a mark may be larger than on two lines beside it.
        const double alone = headline_height_for_width(ruler_, said.text, weight, column_.width);
        if (said.sex && alone > each) return add_headline_over_mark(said, weight);
        return add_two_lines(*broken, head, two, share);
      }
    }
    push_row({share, 0, one, kTitleLeastPart, [this, text = said.text, head](const Box& box) {
                const Box left = draw_mark_beside(head, box, box.height);
                add(fit_headline(ruler_, text, left, {head.weight, Align::start, kBlack, Cut::middle}));
              }});
  }

  /// Entries under each other are of one size, with a tail below the line or without.
  void add_scan_title(const std::string& text) {
    const double cap = std::min(kScanTitleMm, height_for_width(ruler_, text, Weight::bold, column_.width));
    push_row({10.0, 0, cap, kLeastPart, [this, text](const Box& box) {
                add(fit_line(ruler_, text, box, {Weight::bold, Align::start, kBlack, Cut::end}));
              }});
  }

  /// How much larger a name must become to be broken. Beside a mark it is rather kept whole, except where the column is
  /// so narrow that it would become small.
  double least_gain(const SaidRow& said) const { return said.sex && size_.width_mm >= 45 ? 1.7 : 1.3; }

  void add_headline_over_mark(const SaidRow& said, Weight weight) {
    add_headline({std::nullopt, said.text, {}}, weight);
    DesignRow row;
    row.rank = TextRank::medium;
    add_sex_row(row, {said.sex, {}, {}});
  }

  struct Headline {
    std::optional<LabelSex> sex;
    double mark;  ///< width of the sex's sign and letter, in heights
    Weight weight;
  };

  /// The height at which a line of the name and the mark beside it fill the column's width.
  double height_beside(const Headline& head, const std::string& text) const {
    const double wide = 1 / headline_height_for_width(ruler_, text, head.weight, 1);
    return column_.width / (wide + (head.sex ? head.mark + kSexGap : 0));
  }

  /// Draws the mark at the right of the first `height` of a row, and returns what is left beside it.
  Box draw_mark_beside(const Headline& head, const Box& row, double height) {
    if (!head.sex) return row;
    const double mark = std::min(height, row.width * kMostForMark / head.mark);
    const double width = sex_mark_width(*head.sex, ruler_) * mark;
    draw_sex_mark(out_.picture, *head.sex, row.right() - width, row.y + (height - mark) / 2, mark, ruler_);
    return {row.x, row.y, row.width - (head.mark + kSexGap) * mark, row.height};
  }

  void add_two_lines(const std::pair<std::string, std::string>& lines, const Headline& head, double cap, double share) {
    push_row({share * kTwoLineGrowth, 0, cap * (2 + kLineGap), kTitleLeastPart, [this, lines, head](const Box& box) {
                const double height = box.height / (2 + kLineGap);
                const TextLook look{head.weight, Align::start, kBlack, Cut::middle};
                const Box left = draw_mark_beside(head, box, height);
                add(fit_headline(ruler_, lines.first, {left.x, left.y, left.width, height}, look));
                add(fit_headline(ruler_, lines.second, {left.x, left.bottom() - height, left.width, height}, look));
              }});
  }

  void add_text(const std::string& text, TextRank rank, Weight weight, double gap) {
    if (text.empty()) return;
    note_missing(text, weight);
    const RankMeasures measures = measures_of(rank);
    const double cap = std::min(measures.most, height_for_width(ruler_, text, weight, column_.width));
    push_row({measures.share, gap, cap, kLeastPart,
              [this, text, weight](const Box& box) {
                add(fit_line(ruler_, text, box, {weight, Align::start, kBlack, Cut::middle}));
              },
              true});
  }

  /// The items in lines. Half an item can be another claim ("66 %… anery"), so those that no line holds whole are
  /// counted, "+2", and reported.
  std::vector<std::string> whole_items(const DesignRow& row, const SaidRow& said) {
    const std::vector<std::string>& items = said.items;
    const double size = measures_of(row.rank).share * list_unit();
    for (std::size_t kept = items.size(); kept > 0; --kept) {
      const std::vector<std::string> some(items.begin(), items.begin() + static_cast<std::ptrdiff_t>(kept));
      auto lines = pack_items(ruler_, some, row.weight, size, column_.width, most_lines());
      if (kept < items.size()) {
        if (joined(lines, " ") != joined(some, ", ")) continue;  // it counts some already
        lines.back() += ", +" + std::to_string(items.size() - kept);
      }
      const bool whole = std::all_of(lines.begin(), lines.end(), [&](const std::string& line) {
        return height_for_width(ruler_, line, row.weight, column_.width) >= kNeverUnder;
      });
      if (!whole) continue;
      if (kept < items.size()) too_long_.push_back(subject_of(row));
      return lines;
    }
    too_long_.push_back(subject_of(row));
    return {(said.lead.empty() ? "" : said.lead + " ") + "+" + std::to_string(items.size())};
  }

  void add_list(const DesignRow& row, const SaidRow& said) {
    const auto lines = whole_items(row, said);
    const std::size_t first = columns_.back().rows.size();
    for (std::size_t i = 0; i < lines.size(); ++i)
      add_text(lines[i], row.rank, row.weight, i == 0 ? measures_of(row.rank).gap : kGapInList);
    std::vector<Row>& rows = columns_.back().rows;
    double cap = 1e9;
    for (std::size_t i = first; i < rows.size(); ++i) cap = std::min(cap, rows[i].cap);
    // All lines of a list are of one size.
    for (std::size_t i = first; i < rows.size(); ++i) rows[i].cap = std::max(cap, kNeverUnder);
  }

  /// How many lines a list may take, and the em of a share of 1 at which it is broken into them: about what it will
  /// have.
  int most_lines() const { return size_.height_mm > 45 ? 3 : size_.height_mm > 24 ? 2 : 1; }
  double list_unit() const { return size_.height_mm * (is_low(size_) ? 0.026 : 0.023); }

  void add_sex_row(const DesignRow& row, const SaidRow& said) {
    if (!said.text.empty()) note_missing(said.text, row.weight);
    const double sex = sex_mark_width(*said.sex, ruler_);
    const double text = said.text.empty() ? 0 : 1 / height_for_width(ruler_, said.text, row.weight, 1);
    const double gap = text > 0 ? kSexGap : 0;
    const RankMeasures measures = measures_of(row.rank);
    const double cap = std::min(measures.most, column_.width / (sex + gap + text));
    push_row(
        {measures.share, measures.gap, cap, kLeastPart,
         [this, said, sex, gap, weight = row.weight](const Box& box) { draw_sex_row(box, said, sex, gap, weight); }});
  }

  void draw_sex_row(const Box& row, const SaidRow& said, double sex, double gap, Weight weight) {
    const double height = std::min(row.height, row.width / std::max(1.0, sex + gap + 0.8));
    const double y = row.y + (row.height - height) / 2;
    draw_sex_mark(out_.picture, *said.sex, row.x, y, height, ruler_);
    if (said.text.empty()) return;
    const double used = (sex + gap) * height;
    add(fit_line(ruler_, said.text, {row.x + used, row.y, row.width - used, row.height}, {weight}));
  }

  void add_band(const SaidRow& said) {
    if (said.text.empty()) return;
    note_missing(said.text, Weight::bold);
    push_row({5.0, 1.3, 9.0, kLeastPart, [this, text = said.text](const Box& box) { draw_band(box, text); }});
  }

  void draw_band(const Box& band, const std::string& text) {
    out_.picture.shapes.emplace_back(FilledBox{band, kBlack, band.height * 0.12});
    const double inset = band.height * 0.18;
    const Box inner{band.x + inset, band.y + inset, band.width - 2 * inset, band.height - 2 * inset};
    add(fit_headline(ruler_, text, inner, {Weight::bold, Align::center, kWhite}, kBandLeastPart));
  }

  void add_marker_box() {
    push_row({4.6, 1.5, 12.0, kLeastPart, [this](const Box& box) { add_outline(box); }});
  }

  void add_outline(const Box& box) {
    out_.picture.shapes.emplace_back(OutlinedBox{box, std::max(0.25, 2 * dot()), std::min(0.8, 0.18 * box.height)});
  }

  void add_boxes(const DesignRow& row) {
    const SaidRow said = say(row, label_);
    push_row({3.4, 1.4, 5.0, kLeastPart,
              [this, text = said.text, count = row.count](const Box& box) { draw_boxes(box, text, count); }});
  }

  /// The word, then as many squares as were asked for; smaller ones where the column is narrow.
  void draw_boxes(const Box& row, const std::string& text, int count) {
    const double word_height = std::min(row.height * 0.8, 2.6);
    double word =
        text.empty() ? 0 : word_height / height_for_width(ruler_, text, Weight::regular, 1) + row.height * 0.3;
    word = std::min(word, row.width * 0.45);
    const double side = std::min(row.height, (row.width - word) / (count + kTickGap * (count - 1)));
    const double y = row.y + (row.height - side) / 2;
    for (int i = 0; i < count; ++i) add_outline({row.x + word + i * side * (1 + kTickGap), y, side, side});
    if (text.empty()) return;
    const Box at{row.x, row.y + (row.height - word_height) / 2, word - row.height * 0.3, word_height};
    add(fit_line(ruler_, text, at, {}));
  }

  void add_code_row() {
    push_row({2.1, 0.9, 2.1, kLeastPart, [this](const Box& box) { add_code(box, Align::start); }});
  }

  /// The code is the smallest print of all, but can still be read off and typed.
  void add_code(Box box, Align align) {
    const double height = std::min(box.height, std::max(kCodePart * smallest_, kLeastCodeMm));
    box.y += (box.height - height) / 2;
    box.height = height;
    add(fit_line(ruler_, label_.code, box, {Weight::regular, align, kBlack}));
  }

  void add(TextLine line) {
    smallest_ = std::min(smallest_, line.size);
    out_.picture.shapes.emplace_back(std::move(line));
  }

  void note_missing(const std::string& text, Weight weight) {
    const std::string missing = ruler_.missing(text, weight);
    if (out_.no_font.find(missing) == std::string::npos) out_.no_font += missing;
  }

  static constexpr double kWideColumn = 2.2;  // in heights
  static constexpr double kFirstColumn = 0.42;
  static constexpr double kBetweenColumns = 0.12;  // in heights
  static constexpr int kLeastLinesForTwo = 4;
  static constexpr double kWideEnough = 1.7;  // for two columns where there is much to say
  static constexpr int kManyLines = 7;
  static constexpr double kNeverUnder = 1.9;  // millimetres to which rank alone makes a line smaller
  static constexpr double kSexGap = 0.45;
  static constexpr double kScanTitleMm = 8.6;
  static constexpr double kMostForMark = 0.28;  // of the width, for the sex beside a name
  static constexpr double kGapInList = 0.1;
  static constexpr double kTickGap = 0.35;        // between boxes, in sides
  static constexpr double kLineGap = 0.34;        // between the lines of a name, in heights of its letters
  static constexpr double kTwoLineGrowth = 1.35;  // of the share of a name that takes two lines
  static constexpr double kCodePart = 0.92;
  static constexpr double kLeastCodeMm = 1.7;
  static constexpr double kLeastPart = 0.6;
  static constexpr double kTitleLeastPart = 0.35;  // a name is made smaller for long before it is cut
  static constexpr double kBandLeastPart = 0.45;   // and a warning still longer

  const Label& label_;
  const Design& design_;
  LabelSize size_;
  DotGrid grid_;
  const TextRuler& ruler_;
  Form form_;
  LaidOutLabel out_;
  double smallest_ = 1e9;  ///< em of the print so far
  Box symbol_;
  Box whole_;                          ///< the room for text
  Box column_;                         ///< the part of it that is being filled
  std::vector<bool> shown_;            ///< of the design's rows
  std::vector<std::string> too_long_;  ///< parts of shown rows that have no room
  std::vector<Column> columns_;
};

}  // namespace

LaidOutLabel lay_out(const Label& label, const Design& design, LabelSize size, const DotGrid& grid,
                     const TextRuler& ruler) {
  return Layout(label, design, size, grid, ruler).run();
}

LaidOutLabel lay_out(const Label& label, LabelSize size, const DotGrid& grid, const TextRuler& ruler) {
  return lay_out(label, built_in_design(label.kind), size, grid, ruler);
}

}  // namespace rackside::labels
