#include "cli/care/sheet_page.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>

#include "cli/wording.h"
#include "labels/design/sex_mark.h"

namespace rackside::cli {

using namespace core;
using labels::Align;
using labels::Box;
using labels::Color;
using labels::Picture;
using labels::Weight;

namespace {

// Millimetres.
constexpr double kSide = 11;
constexpr double kTop = 11;
constexpr double kHead = 33;  ///< from the top margin to the first row
constexpr double kFoot = 20.3;
constexpr double kRow = 8.6;
constexpr double kBox = 4.8;
constexpr double kHair = 0.12;
constexpr double kThin = 0.25;
constexpr double kBold = 0.7;
constexpr double kBarHeight = 6.4;
constexpr int kRowsBetweenRules = 5;
constexpr Color kGrey{0.38, 0.38, 0.38};
constexpr Color kPale{0.72, 0.72, 0.72};
constexpr Color kTint{0.94, 0.94, 0.94};

constexpr std::array<const char*, 4> kTicks = {"ate", "refused", "left in", "shed"};

/// Where the columns begin, for a page of this width.
struct Columns {
  explicit Columns(double page_width) : width(page_width) {}
  double width;
  double number = kSide;
  double animal = kSide + 17;
  double what = kSide + 52;
  double ticks() const { return width - kSide - 26 - 13.2 * static_cast<double>(kTicks.size()); }
  double tick(std::size_t i) const { return ticks() + 13.2 * static_cast<double>(i); }
  double write() const { return width - kSide - 25; }
  double right() const { return width - kSide; }
};

/// "Friday, 27 November 2026"
std::string long_date(DayNumber day) {
  constexpr const char* kDays[] = {"Sunday", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"};
  constexpr const char* kMonths[] = {"January", "February", "March",     "April",   "May",      "June",
                                     "July",    "August",   "September", "October", "November", "December"};
  const std::chrono::sys_days date{std::chrono::days{day}};
  const std::chrono::year_month_day parts{date};
  return fmt::format("{}, {} {} {}", kDays[std::chrono::weekday{date}.c_encoding()], static_cast<unsigned>(parts.day()),
                     kMonths[static_cast<unsigned>(parts.month()) - 1], static_cast<int>(parts.year()));
}

std::string nights(int count) {
  return fmt::format("{} night{}", count, count == 1 ? "" : "s");
}

labels::LabelSex mark_of(const std::string& sex) {
  if (sex == "male") return labels::LabelSex::male;
  return sex == "female" ? labels::LabelSex::female : labels::LabelSex::unknown;
}

/// Draws one page.
class Page {
 public:
  Page(const RackSheet& sheet, double width, double height, const labels::TextRuler& ruler)
      : sheet_(sheet), columns_(width), height_(height), ruler_(ruler) {
    picture_.width = width;
    picture_.height = height;
  }

  void head(std::size_t page, std::size_t pages) {
    text(kSide, kTop + 9.5, 90, "Rack " + sheet_.rack.label, 11, Weight::bold);
    text(columns_.right() - 95, kTop + 5, 95, long_date(sheet_.night), 4.6, Weight::bold, Align::end);
    const std::string of = pages > 1 ? fmt::format("   page {} of {}", page, pages) : "";
    text(columns_.right() - 95, kTop + 10.2, 95, "tonight’s list, in the order of the walk" + of, 3, Weight::regular,
         Align::end, kGrey);
    text(kSide, kTop + 16, columns_.right() - kSide, summary(), 3.5, Weight::regular);
    if (!sheet_.take.empty()) text(kSide, kTop + 21.4, columns_.right() - kSide, take_along(), 3.5, Weight::bold);
    if (sheet_.quarantine) quarantine_bar();
    const double y = kTop + kHead - 2;
    text(columns_.number, y, 16, "tub", 2.7, Weight::regular, Align::start, kGrey);
    text(columns_.animal, y, 34, "animal", 2.7, Weight::regular, Align::start, kGrey);
    text(columns_.what, y, 40, "tonight", 2.7, Weight::regular, Align::start, kGrey);
    for (std::size_t i = 0; i < kTicks.size(); ++i)
      text(columns_.tick(i) - 4, y, kBox + 8, kTicks[i], 2.7, Weight::regular, Align::center, kGrey);
    text(columns_.write(), y, 25, "grams, other", 2.7, Weight::regular, Align::start, kGrey);
    rule(kTop + kHead, kBold);
  }

  void row(const SheetRow& row, int index) {
    const double top = kTop + kHead + index * kRow;
    const SheetWords words = words_of(row, sheet_.night);
    if (words.look)
      picture_.shapes.push_back(labels::FilledBox{{kSide, top, columns_.right() - kSide, kRow}, kTint, 0});
    const std::string number = row.position > 0 ? std::to_string(row.position) : row.place.label;
    text(columns_.number, top + 6.4, 16, number, 6.4, Weight::bold);
    animal(row, top);
    const double width = columns_.ticks() - columns_.what - 5;
    text(columns_.what, top + 3.9, width, words.what, 3.6, words.feed || words.look ? Weight::bold : Weight::regular,
         Align::start, words.feed || words.look ? labels::kBlack : kGrey);
    text(columns_.what, top + 7.1, width, words.why, words.look ? 2.6 : 2.35,
         words.look ? Weight::bold : Weight::regular, Align::start, words.look ? labels::kBlack : kGrey);
    for (std::size_t i = 0; i < kTicks.size(); ++i) {
      // Bold: to be fed tonight. A shed may be seen of anybody.
      const bool bold = words.feed && i + 1 < kTicks.size();
      const Box box{columns_.tick(i), top + (kRow - kBox) / 2, kBox, kBox};
      picture_.shapes.push_back(labels::FilledBox{box, labels::kWhite, 0.6});
      picture_.shapes.push_back(labels::OutlinedBox{box, bold ? kBold : kThin, 0.6});
    }
    picture_.shapes.push_back(
        labels::Stroke{columns_.write(), top + 6.6, columns_.right() - 1, top + 6.6, kHair, kPale});
    const bool strong = (index + 1) % kRowsBetweenRules == 0;
    rule(top + kRow, strong ? kThin : kHair, strong ? labels::kBlack : kPale);
  }

  /// Below the rows, as far as there is room: the reasons in full, which a row cuts off.
  void reasons(std::size_t first, std::size_t end) {
    constexpr double kLine = 4.7;
    double y = kTop + kHead + static_cast<double>(end - first) * kRow + 8;
    const double last = height_ - kFoot - 2;
    for (std::size_t i = first; i < end; ++i) {
      const SheetRow& row = sheet_.rows[i];
      const SheetWords words = words_of(row, sheet_.night);
      if (!words.look || y > last) continue;
      const std::string number = row.position > 0 ? std::to_string(row.position) : row.place.label;
      text(kSide, y, 16, number, 3.2, Weight::bold);
      text(columns_.animal, y, columns_.right() - columns_.animal, row.animal.label + "   " + words.reason, 2.9,
           Weight::regular);
      y += kLine;
    }
  }

  void foot() {
    constexpr double kLine = 4.1;
    const double y = height_ - kFoot + 2.6;
    const double width = columns_.right() - kSide;
    text(kSide, y, width - 60, "Bold boxes: to be fed tonight. Grey row: look at this one.", 2.9, Weight::regular);
    text(kSide, y + kLine, width,
         "To type:  ate = fed   refused = refused   left in = offered   shed = shed   412 g = weighed 412", 2.9,
         Weight::regular);
    text(kSide, y + 2 * kLine, width, "Next morning, where food was left in:  gone = ate   still there = leftover", 2.9,
         Weight::regular);
    text(kSide, y + 3 * kLine, width,
         fmt::format("Enter it later, with your own tub numbers for …:  rackside ticked {} --night {} \"fed: …\" "
                     "\"refused: …\" \"weighed 412: …\"",
                     sheet_.rack.label, date_text(sheet_.night)),
         2.9, Weight::regular);
    text(columns_.right() - 58, y, 58, "helper  ____________________", 2.9, Weight::regular, Align::end);
  }

  Picture take() { return std::move(picture_); }

 private:
  void text(double x, double baseline, double width, const std::string& what, double size, Weight weight,
            Align align = Align::start, Color color = labels::kBlack) {
    labels::TextLine line = labels::text_line(x, baseline, width, what, size);
    line.weight = weight;
    line.align = align;
    line.color = color;
    picture_.shapes.push_back(line);
  }

  void rule(double y, double stroke, Color color = labels::kBlack) {
    picture_.shapes.push_back(labels::Stroke{kSide, y, columns_.right(), y, stroke, color});
  }

  void quarantine_bar() {
    const double top = kTop + 22.8;
    picture_.shapes.push_back(
        labels::FilledBox{{kSide, top, columns_.right() - kSide, kBarHeight}, labels::kBlack, 0.8});
    text(kSide + 2, top + 4.7, columns_.right() - kSide - 4,
         "QUARANTINE: last in the walk. Wash and change before you go back.", 3.9, Weight::bold, Align::start,
         labels::kWhite);
  }

  void animal(const SheetRow& row, double top) {
    constexpr double kMark = 3.4;
    const labels::LabelSex sex = mark_of(row.sex);
    const double mark = labels::sex_mark_width(sex, ruler_) * kMark;
    const double room = 33 - mark - 2;
    const double advance = ruler_.measure(row.animal.label, Weight::bold).advance * 4;
    text(columns_.animal, top + 4.3, room, row.animal.label, 4, Weight::bold);
    labels::draw_sex_mark(picture_, sex, columns_.animal + std::min(advance, room) + 1.4, top + 1.1, kMark, ruler_);
    text(columns_.animal, top + 7.3, 33, row.name, 2.5, Weight::regular, Align::start, kGrey);
  }

  std::string summary() const {
    int feed = 0;
    int look = 0;
    for (const SheetRow& row : sheet_.rows) {
      const SheetWords words = words_of(row, sheet_.night);
      feed += words.feed ? 1 : 0;
      look += words.look ? 1 : 0;
    }
    std::string out = fmt::format("{} animal{}, {} (males.females.unsexed)     {} to feed", sheet_.count.all(),
                                  sheet_.count.all() == 1 ? "" : "s",
                                  trade_count(sheet_.count.males, sheet_.count.females, sheet_.count.unsexed), feed);
    if (look > 0) out += fmt::format("     {} to look at", look);
    return out;
  }

  std::string take_along() const {
    std::string out = "Take along:  ";
    for (const auto& [prey, count] : sheet_.take)
      out += (out.back() == ' ' ? "" : ",  ") + fmt::format("{} {}", count, prey);
    return out;
  }

  const RackSheet& sheet_;
  Columns columns_;
  double height_;
  const labels::TextRuler& ruler_;
  Picture picture_;
};

std::string meal_words(const SheetRow& row, DayNumber tonight, std::string& why) {
  switch (row.meal.state) {
    case Meal::early:
      why = "due in " + nights(row.meal.days) + ", " + date_text(tonight + row.meal.days);
      return "not yet";
    case Meal::opaque:
      why = "no food; once it has shed it may be fed";
      return "opaque";
    case Meal::fasts:
      why = row.fast ? row.fast->why + ", until " + date_text(row.fast->to) : "";
      return "fasts";
    case Meal::gravid:
      return "gravid, not fed";
    case Meal::rests:
      return "rests";
    case Meal::contradicted:
      return "check the tub";
    case Meal::waits:
      why = row.meal.days > 0 ? "food was left in: gone = ate, still there = leftover" : "food is in the tub";
      return row.meal.days > 0 ? "look now, add no food" : "add no food, look tomorrow";
    default: {
      const std::string meal = meal_text(row.diet);
      return meal.empty() ? "food" : meal;
    }
  }
}

/// What is to be done about a sign, in words that cannot be read as “take its food away”.
std::string to_do_of(Due due) {
  switch (due) {
    case Due::off_feed:
      return "refuses: look, weigh";
    case Due::check_tub:
      return "check the tub";
    case Due::leave_alone:
    case Due::separate:
      return std::string(word_of(due));
    case Due::dose:
      return "dose due";
    default:
      return std::string(word_of(due)) + ": look";
  }
}

/// Of one that is looked at and not fed tonight: why it gets no food, or when.
std::string no_food_words(const SheetRow& row, DayNumber tonight) {
  switch (row.meal.state) {
    case Meal::early:
      return "next food " + date_text(tonight + row.meal.days);
    case Meal::opaque:
      return "opaque, no food";
    case Meal::fasts:
      return "fasts, no food";
    case Meal::gravid:
      return "gravid, no food";
    case Meal::waits:
      return "food is in, add none";
    default:
      return "";
  }
}

}  // namespace

SheetWords words_of(const SheetRow& row, DayNumber tonight) {
  SheetWords out;
  out.feed = is_to_be_fed(row.meal.state);
  const DueLine* first = nullptr;  // the most urgent sign
  std::string to_do;
  for (const DueLine& line : row.lines) {
    if (!info_of(line.due).is_sign) continue;
    if (!first) first = &line;
    to_do += (to_do.empty() ? "" : ", ") + to_do_of(line.due);
  }
  std::string meal_why;
  const std::string meal = meal_words(row, tonight, meal_why);
  for (const DueLine& line : row.lines) {
    if (!info_of(line.due).is_sign && meal_why.empty()) meal_why = line.why;
  }
  out.look = first != nullptr;
  if (!first) {
    out.what = meal;
    out.why = meal_why;
    return out;
  }
  out.reason = std::string(word_of(first->due)) + ": " + first->why;
  if (out.feed) {
    // What it gets must never be cut off.
    out.what = "offer " + meal;
    out.why = first->due == Due::off_feed ? "! off feed: if it refuses again, weigh it" : "! " + out.reason;
  } else {
    out.what = to_do;
    const std::string food = no_food_words(row, tonight);
    out.why = "! " + (food.empty() ? "" : food + "; ") + first->why;
  }
  return out;
}

std::vector<Picture> sheet_pages(const RackSheet& sheet, labels::Paper paper, const labels::TextRuler& ruler) {
  const double width = paper == labels::Paper::a4 ? 210 : 215.9;
  const double height = paper == labels::Paper::a4 ? 297 : 279.4;
  const auto per_page = static_cast<std::size_t>((height - kTop - kHead - kFoot) / kRow);
  const std::size_t pages = std::max<std::size_t>(1, (sheet.rows.size() + per_page - 1) / per_page);
  std::vector<Picture> out;
  for (std::size_t number = 0; number < pages; ++number) {
    Page page(sheet, width, height, ruler);
    page.head(number + 1, pages);
    const std::size_t first = number * per_page;
    for (std::size_t i = first; i < std::min(first + per_page, sheet.rows.size()); ++i)
      page.row(sheet.rows[i], static_cast<int>(i - first));
    page.reasons(first, std::min(first + per_page, sheet.rows.size()));
    page.foot();
    out.push_back(page.take());
  }
  return out;
}

}  // namespace rackside::cli
