#include "cli/register/register_sheet.h"

#include <fmt/format.h>

#include <algorithm>

#include "cli/wording.h"
#include "labels/draw/draw.h"
#include "labels/draw/text.h"

namespace rackside::cli {

using core::DayNumber;
using labels::Picture;
using labels::TextLine;

const char* const kRegisterCaution =
    "What a register must hold, and for how long it is kept, differs from place to place: check your local rules. "
    "England, "
    "for one, asks a seller for these columns, legible on request, kept for at least 3 years (SI 2018/486, schedule 3, "
    "paragraph 2, and general condition 2).";

namespace {

// Millimetres of an A4 page on its side.
constexpr double kWidth = 297;
constexpr double kHeight = 210;
constexpr double kMargin = 12;
constexpr double kTop = 26;
constexpr double kBottom = 192;
constexpr double kRowHeight = 5.2;
constexpr double kText = 2.9;
constexpr double kHeading = 2.6;
constexpr double kHair = 0.12;
constexpr double kGap = 1.6;
constexpr labels::Color kGrey{0.42, 0.42, 0.42};
constexpr labels::Color kBand{0.955, 0.955, 0.955};

std::string day_text(std::optional<DayNumber> day) {
  return day ? core::date_text(*day) : std::string();
}

std::string origin_of(const core::InspectionLine& line) {
  if (!line.supplier.empty()) return line.supplier;
  return line.parents.empty() ? "not said" : "own young of " + line.parents;
}

/// Lines of treatment that fit a cell, one dose each.
std::vector<std::string> treatment_lines(const std::string& text) {
  std::vector<std::string> out(1);
  for (const char c : text) {
    if (c == ';') {
      out.emplace_back();
    } else if (c != ' ' || !out.back().empty()) {
      out.back() += c;
    }
  }
  return out;
}

class Sheet {
 public:
  Sheet(const RegisterTable& table, std::string title) : table_(table), title_(std::move(title)) { measure(); }

  std::vector<Picture> pages() {
    begin_page();
    for (std::size_t i = 0; i < table_.rows.size(); ++i) add_row(table_.rows[i], i % 2 == 1);
    for (std::size_t i = 0; i < pages_.size(); ++i) end_page(pages_[i], i + 1);
    return std::move(pages_);
  }

 private:
  /// Each column as wide as its widest text, all scaled to the page where that is too much.
  void measure() {
    const labels::PangoRuler ruler;
    const auto width_of = [&](const std::string& text, double size, labels::Weight weight) {
      return ruler.measure(text, weight).advance * size;
    };
    for (std::size_t column = 0; column < table_.headings.size(); ++column) {
      double widest = width_of(table_.headings[column], kHeading, labels::Weight::bold);
      for (const auto& row : table_.rows)
        for (const std::string& line : treatment_lines(row[column]))
          widest = std::max(widest, width_of(line, kText, labels::Weight::regular));
      widths_.push_back(std::min(widest, kWidth / 4) + kGap);
    }
    double all = 0;
    for (const double width : widths_) all += width;
    const double room = kWidth - 2 * kMargin;
    for (double& width : widths_) width *= room / all;
  }

  void text(Picture& page, const std::string& words, double x, double baseline, double width, double size,
            labels::Weight weight = labels::Weight::regular, labels::Color color = labels::kBlack,
            labels::Align align = labels::Align::start) {
    TextLine line = labels::text_line(x, baseline, width, words, size);
    line.weight = weight;
    line.color = color;
    line.align = align;
    page.shapes.push_back(std::move(line));
  }

  void rule(Picture& page, double y, double width = kHair) {
    page.shapes.push_back(labels::Stroke{kMargin, y, kWidth - kMargin, y, width, labels::kBlack});
  }

  void begin_page() {
    Picture page;
    page.width = kWidth;
    page.height = kHeight;
    text(page, title_, kMargin, kMargin + 4, kWidth - 2 * kMargin, 5, labels::Weight::bold);
    double x = kMargin;
    for (std::size_t i = 0; i < table_.headings.size(); ++i) {
      text(page, table_.headings[i], x, kTop - 1.6, widths_[i] - kGap, kHeading, labels::Weight::bold);
      x += widths_[i];
    }
    rule(page, kTop, 3 * kHair);
    pages_.push_back(std::move(page));
    y_ = kTop;
  }

  void add_row(const std::vector<std::string>& row, bool banded) {
    std::size_t lines = 1;
    for (const std::string& cell : row) lines = std::max(lines, treatment_lines(cell).size());
    const double height = kRowHeight * static_cast<double>(lines);
    if (y_ + height > kBottom) begin_page();
    Picture& page = pages_.back();
    if (banded) page.shapes.push_back(labels::FilledBox{{kMargin, y_, kWidth - 2 * kMargin, height}, kBand, 0});
    double x = kMargin;
    for (std::size_t i = 0; i < row.size(); ++i) {
      double baseline = y_ + kRowHeight - 1.6;
      for (const std::string& line : treatment_lines(row[i])) {
        text(page, line, x, baseline, widths_[i] - kGap, kText,
             i == 0 ? labels::Weight::bold : labels::Weight::regular);
        baseline += kRowHeight;
      }
      x += widths_[i];
    }
    y_ += height;
  }

  void end_page(Picture& page, std::size_t number) {
    rule(page, kBottom + 3);
    constexpr double kSmall = 2.3;
    const std::string caution = kRegisterCaution;
    const auto cut = caution.find(' ', caution.size() / 2);
    const double width = kWidth - 2 * kMargin - 24;
    text(page, caution.substr(0, cut), kMargin, kBottom + 7, width, kSmall, labels::Weight::regular, kGrey);
    text(page, caution.substr(cut + 1), kMargin, kBottom + 10.4, width, kSmall, labels::Weight::regular, kGrey);
    text(page, fmt::format("{} of {}", number, pages_.size()), kWidth - kMargin - 24, kBottom + 7, 24, kHeading,
         labels::Weight::regular, labels::kBlack, labels::Align::end);
  }

  const RegisterTable& table_;
  std::string title_;
  std::vector<double> widths_;
  std::vector<Picture> pages_;
  double y_ = 0;
};

}  // namespace

RegisterTable register_table(const std::vector<core::InspectionLine>& lines, DayNumber until) {
  RegisterTable out{.headings = {"animal", "species", "sex", "hatched", "age", "acquired", "supplier", "treatment",
                                 "sold", "left", "died"},
                    .rows = {}};
  for (const core::InspectionLine& line : lines) {
    std::string treatment;
    for (const core::InspectionTreatment& one : line.treatments)
      treatment += (treatment.empty() ? "" : "; ") + core::date_text(one.day) + " " + one.with;
    const DayNumber on = std::min({until, line.died.value_or(until), line.left.value_or(until)});
    out.rows.push_back({line.animal.label, line.species, line.sex.empty() ? "unknown" : line.sex,
                        line.hatched.empty() ? "unknown" : line.hatched, core::age_text(line.hatched, on),
                        line.acquired, origin_of(line), treatment, day_text(line.sold), day_text(line.left),
                        day_text(line.died)});
  }
  return out;
}

std::string register_pdf(const RegisterTable& table, const std::string& title) {
  return labels::draw_pdf(Sheet(table, title).pages(), title);
}

}  // namespace rackside::cli
