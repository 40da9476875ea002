#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "cli/story/axis.h"
#include "cli/story/story.h"
#include "cli/wording.h"
#include "core/entry/shapes.h"
#include "core/read/inspection.h"

namespace rackside::cli {
namespace {

using core::DayNumber;
using core::Kind;
using core::Life;

// One unit is a pixel at the picture's own size.
constexpr double kWidth = 960;
constexpr double kLeft = 96;
constexpr double kRight = 930;
constexpr double kHeader = 142;
constexpr double kPlot = 210;
constexpr double kLane = 40;
constexpr double kAxis = 46;
constexpr double kKeyLine = 17;

constexpr const char* kPaper = "#fcfbf8";
constexpr const char* kInk = "#22303a";
constexpr const char* kSoft = "#6d7a83";
constexpr const char* kHair = "#dfe3e1";
constexpr const char* kBand = "#f3f4ef";
constexpr const char* kWeight = "#17706c";
constexpr const char* kMeal = "#b5651d";
constexpr const char* kShed = "#5b6ea8";
constexpr const char* kPair = "#a8426f";
constexpr const char* kEgg = "#c79a2b";
constexpr const char* kCare = "#b3382c";

std::string text_at(double x, double y, const std::string& text, double size, const char* color = kInk,
                    const char* more = "") {
  return fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" font-size=\"{:g}\" fill=\"{}\"{}>{}</text>\n", x, y, size, color,
                     *more ? " " + std::string(more) : "", escaped(text));
}

std::string titled(const std::string& shape, const std::string& title) {
  return "<g><title>" + escaped(title) + "</title>" + shape + "</g>\n";
}

class Picture {
 public:
  explicit Picture(const Life& life) : life_(life), first_(life.first_day()), last_(life.last_day()) {
    constexpr DayNumber kLeastSpan = 14;
    if (last_ - first_ < kLeastSpan) first_ = last_ - kLeastSpan;
  }

  std::string draw() {
    header();
    y_ = kHeader;
    const double top = y_;
    std::string inside;
    std::swap(inside, body_);
    if (!life_.weights.empty()) weight();
    food();
    sheds();
    company();
    eggs();
    care();
    const double bottom = y_;
    std::string lanes;
    std::swap(lanes, body_);
    grid(top, bottom);
    body_ = inside + body_ + lanes;
    y_ = bottom + kAxis;
    key();
    return frame();
  }

 private:
  double x(DayNumber day) const {
    return kLeft + (kRight - kLeft) * static_cast<double>(day - first_) / static_cast<double>(last_ - first_);
  }

  std::string frame() const {
    return fmt::format(
               "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:g} {1:g}\" width=\"{0:g}\" height=\"{1:g}\" "
               "font-family=\"'Noto Sans','DejaVu Sans',system-ui,sans-serif\" role=\"img\" aria-labelledby=\"t d\">\n",
               kWidth, y_) +
           "<title id=\"t\">" + escaped("The story of " + life_.animal.label) + "</title>\n<desc id=\"d\">" +
           escaped(described()) + "</desc>\n" +
           fmt::format(
               "<defs><linearGradient id=\"w\" x1=\"0\" y1=\"0\" x2=\"0\" y2=\"1\"><stop offset=\"0\" "
               "stop-color=\"{0}\" stop-opacity=\".28\"/><stop offset=\"1\" stop-color=\"{0}\" "
               "stop-opacity=\".03\"/></linearGradient></defs>\n",
               kWeight) +
           fmt::format("<rect width=\"{:g}\" height=\"{:g}\" rx=\"10\" fill=\"{}\"/>\n", kWidth, y_, kPaper) + body_ +
           "</svg>\n";
  }

  std::string described() const {
    std::string out;
    for (const auto& [heading, text] : life_facts(life_)) out += heading + ": " + text + ". ";
    return out.empty() ? "Nothing was recorded yet." : out;
  }

  // ---- who

  void header() {
    const std::string sex = life_.sex.empty() ? "" : "  " + sex_sign(life_.sex);
    body_ += text_at(28, 50, life_.animal.label + sex, 32, kInk, "font-weight=\"700\"");
    std::string who = life_.name;
    const auto add = [&](const std::string& text) {
      if (!text.empty()) who += (who.empty() ? "" : "   ·   ") + text;
    };
    add(life_.species);
    if (!life_.hatched.empty()) {
      const std::string age = core::age_text(life_.hatched, life_.last_day());
      add("hatched " + life_.hatched + (age.empty() ? "" : ", " + age));
    }
    add(life_.parents);
    body_ += text_at(28, 76, who, 14.5, kSoft);
    if (!life_.genes.certain.empty()) body_ += text_at(28, 100, life_.genes.certain, 14.5, kInk, "font-weight=\"600\"");
    if (!life_.genes.possible.empty()) {
      const double y = life_.genes.certain.empty() ? 100 : 120;
      body_ += text_at(28, y, "possible: " + life_.genes.possible, 13, kSoft, "font-style=\"italic\"");
    }
    body_ += text_at(kRight, 50, where(), 18, kInk, "font-weight=\"600\" text-anchor=\"end\"");
    if (!life_.weights.empty())
      body_ += text_at(
          kRight, 76,
          core::shapes::said_grams(life_.weights.back().second) + " on " + day_for_people(life_.weights.back().first),
          14.5, kWeight, "text-anchor=\"end\"");
  }

  std::string where() const {
    if (life_.ended) return life_.end + " " + day_for_people(*life_.ended);
    for (const core::LifeStay& stay : life_.homes)
      if (!stay.until) return stay.place.label;
    return {};
  }

  // ---- behind everything

  void grid(double top, double bottom) {
    bool dark = false;
    DayNumber begin = first_;
    const auto band = [&](DayNumber end) {
      if (dark)
        body_ += fmt::format("<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" fill=\"{}\"/>\n",
                             x(begin), top, x(end) - x(begin), bottom - top, kBand);
    };
    for (int year = std::stoi(core::date_text(first_).substr(0, 4)) + 1;; ++year) {
      DayNumber day = 0;
      core::parse_date(fmt::format("{:04}-01-01", year), day);
      if (day >= last_) break;
      band(day);
      dark = !dark;
      begin = day;
    }
    band(last_);
    std::string year;
    for (const TimeTick& tick : time_ticks(first_, last_, 13)) {
      body_ += fmt::format("<line x1=\"{0:.1f}\" x2=\"{0:.1f}\" y1=\"{1:.1f}\" y2=\"{2:.1f}\" stroke=\"{3}\"/>\n",
                           x(tick.day), top, bottom + 6, kHair);
      body_ +=
          text_at(x(tick.day), bottom + 21, tick.text, 11.5, tick.begins_year ? kInk : kSoft, "text-anchor=\"middle\"");
      const std::string this_year = core::date_text(tick.day).substr(0, 4);
      if (this_year != year && tick.text != this_year && !tick.begins_year)
        body_ += text_at(x(tick.day), bottom + 36, this_year, 11.5, kInk, "text-anchor=\"middle\"");
      year = this_year;
    }
    body_ += fmt::format("<line x1=\"{:.1f}\" x2=\"{:.1f}\" y1=\"{:.1f}\" y2=\"{:.1f}\" stroke=\"{}\"/>\n", kLeft,
                         kRight, bottom, bottom, kSoft);
  }

  // ---- weight

  void weight() {
    double least = 1e18;
    double most = 0;
    for (const auto& [day, tenths] : life_.weights) {
      least = std::min(least, static_cast<double>(tenths) / 10);
      most = std::max(most, static_cast<double>(tenths) / 10);
    }
    const std::vector<double> steps = round_steps(least * 0.97, most * 1.02, 5);
    const double top = y_ + 8;
    const double height = kPlot - 24;
    const auto at = [&](double grams) {
      return top + height * (steps.back() - grams) / (steps.back() - steps.front());
    };
    for (const double step : steps) {
      body_ += fmt::format("<line x1=\"{:g}\" x2=\"{:g}\" y1=\"{:.1f}\" y2=\"{:.1f}\" stroke=\"{}\"/>\n", kLeft, kRight,
                           at(step), at(step), kHair);
      body_ += text_at(kLeft - 10, at(step) + 4, fmt::format("{:g}{}", step, step == steps.back() ? " g" : ""), 11.5,
                       kSoft, "text-anchor=\"end\"");
    }
    std::string line;
    for (const auto& [day, tenths] : life_.weights)
      line += fmt::format("{:.1f},{:.1f} ", x(day), at(static_cast<double>(tenths) / 10));
    // An area says “so much of it”: only true where it stands on nothing.
    const double ground = at(steps.front());
    if (steps.front() == 0)
      body_ += fmt::format("<polygon points=\"{:.1f},{:.1f} {}{:.1f},{:.1f}\" fill=\"url(#w)\"/>\n",
                           x(life_.weights.front().first), ground, line, x(life_.weights.back().first), ground);
    body_ += fmt::format(
        "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"2.2\" stroke-linejoin=\"round\" "
        "stroke-linecap=\"round\"/>\n",
        line, kWeight);
    const double radius = life_.weights.size() > 80 ? 1.8 : 3;
    for (const auto& [day, tenths] : life_.weights)
      body_ += titled(
          fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:g}\" fill=\"{}\" stroke=\"{}\" stroke-width=\"1.6\"/>",
                      x(day), at(static_cast<double>(tenths) / 10), radius, kPaper, kWeight),
          core::shapes::said_grams(tenths) + ", " + day_for_people(day));
    y_ += kPlot;
  }

  // ---- lanes

  /// What the signs of the lanes mean; only of lanes that are drawn.
  void key() {
    std::string line;
    const auto end_line = [&] {
      if (line.empty()) return;
      body_ += text_at(kLeft, y_ + 6, line, 11, kSoft);
      y_ += kKeyLine;
      line.clear();
    };
    constexpr std::size_t kLetters = 150;
    for (const std::string& name : lanes_) {
      const std::string text = name + ": " + key_of(name);
      if (line.size() + text.size() > kLetters) end_line();
      line += (line.empty() ? "" : " · ") + text;
    }
    end_line();
    if (!lanes_.empty()) y_ += 6;
  }

  static std::string key_of(const std::string& name) {
    if (name == "Food") return "stroke eaten, circle refused";
    if (name == "Sheds") return "days from one to the next; hollow: stuck";
    if (name == "Paired") return "bar: together so long; diamond: locks were seen";
    if (name == "Eggs") return "pale dot: gravid; oval: laid, good + slugs";
    return "triangle: brought food up; cross: treated; more in the history";
  }

  void lane(const std::string& name, const char* color) {
    lanes_.push_back(name);
    body_ += text_at(kLeft - 10, y_ + kLane / 2 + 4, name, 12, color, "text-anchor=\"end\" font-weight=\"600\"");
    body_ += fmt::format("<line x1=\"{:g}\" x2=\"{:g}\" y1=\"{:.1f}\" y2=\"{:.1f}\" stroke=\"{}\"/>\n", kLeft, kRight,
                         y_, y_, kHair);
  }
  double middle() const { return y_ + kLane / 2; }

  void food() {
    if (life_.nights.empty()) return;
    lane("Food", kMeal);
    const double wide = std::clamp((kRight - kLeft) / static_cast<double>(last_ - first_) * 0.7, 1.6, 4.0);
    for (const core::LifeNight& one : life_.nights) {
      const std::string title =
          one.outcome + (one.prey.empty() ? "" : " " + one.prey) + ", " + day_for_people(one.night);
      if (one.outcome == "ate") {
        const double high = one.amount > 1 ? 20 : 13;
        body_ += titled(
            fmt::format("<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:g}\" rx=\"1\" fill=\"{}\"/>",
                        x(one.night) - wide / 2, y_ + 26 - high, wide, high, kMeal),
            title);
      } else if (one.outcome == "refused") {
        body_ +=
            titled(fmt::format(
                       "<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"2.6\" fill=\"{}\" stroke=\"{}\" stroke-width=\"1.3\"/>",
                       x(one.night), y_ + 32, kPaper, kMeal),
                   title);
      }
    }
    y_ += kLane;
  }

  void sheds() {
    if (life_.sheds.empty()) return;
    lane("Sheds", kShed);
    std::optional<DayNumber> before;
    for (const core::LifeMark& mark : life_.marks) {
      if (mark.kind != Kind::shed) continue;
      const bool stuck = mark.text.find("stuck") != std::string::npos;
      if (before) {
        body_ += fmt::format(
            "<line x1=\"{:.1f}\" x2=\"{:.1f}\" y1=\"{:.1f}\" y2=\"{:.1f}\" stroke=\"{}\" stroke-opacity=\".35\"/>\n",
            x(*before), x(mark.day), middle(), middle(), kShed);
        constexpr double kRoomForText = 40;
        if (x(mark.day) - x(*before) > kRoomForText)
          body_ += text_at((x(mark.day) + x(*before)) / 2, middle() - 6, fmt::format("{} d", mark.day - *before), 10.5,
                           kSoft, "text-anchor=\"middle\"");
      }
      body_ += titled(
          fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"5\" fill=\"{}\" stroke=\"{}\" stroke-width=\"1.8\"/>",
                      x(mark.day), middle(), stuck ? kPaper : kShed, kShed),
          mark.text + ", " + day_for_people(mark.day));
      before = mark.day;
    }
    y_ += kLane;
  }

  void company() {
    if (life_.visits.empty()) return;
    lane("Paired", kPair);
    double free_from = 0;
    for (const core::LifeStay& visit : life_.visits) {
      const double begin = x(std::max(visit.since, first_));
      const double end = std::max(x(std::min(visit.until.value_or(last_), last_)), begin + 4);
      const std::string who = visit.partner ? visit.partner->label : "?";
      body_ +=
          titled(fmt::format("<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"9\" rx=\"4.5\" fill=\"{}\" "
                             "fill-opacity=\"{}\"/>",
                             begin, middle() - 1, end - begin, kPair, visit.until ? ".55" : "1"),
                 "with " + who + " from " + day_for_people(visit.since) +
                     (visit.until ? " to " + day_for_people(*visit.until) : ", now"));
      if (begin < free_from) continue;
      constexpr double kLetter = 6.4;
      const double width = kLetter * static_cast<double>(who.size());
      const double at = std::min(begin, kRight - width);
      body_ += text_at(at, middle() - 6, who, 10.5, kPair);
      free_from = at + width + 6;
    }
    for (const core::LifeMark& mark : life_.marks)
      if (mark.kind == Kind::locked)
        body_ +=
            titled(fmt::format("<path d=\"M{:.1f} {:.1f}l4.5 5.5l-4.5 5.5l-4.5 -5.5z\" fill=\"{}\" stroke=\"{}\"/>",
                               x(mark.day), middle() - 2, kPair, kPaper),
                   mark.text + ", " + day_for_people(mark.day));
    y_ += kLane;
  }

  void eggs() {
    const auto wanted = [](Kind kind) {
      return kind == Kind::laid || kind == Kind::gravid || kind == Kind::ovulated || kind == Kind::palpated;
    };
    if (std::none_of(life_.marks.begin(), life_.marks.end(), [&](const auto& mark) { return wanted(mark.kind); }))
      return;
    lane("Eggs", kEgg);
    for (const core::LifeMark& mark : life_.marks) {
      if (!wanted(mark.kind)) continue;
      const std::string title = mark.text + ", " + day_for_people(mark.day);
      if (mark.kind != Kind::laid) {
        body_ += titled(fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"3.4\" fill=\"{}\" fill-opacity=\".5\"/>",
                                    x(mark.day), middle(), kEgg),
                        title);
        continue;
      }
      body_ += titled(fmt::format("<ellipse cx=\"{:.1f}\" cy=\"{:.1f}\" rx=\"6\" ry=\"8.5\" fill=\"{}\"/>", x(mark.day),
                                  middle(), kEgg),
                      title);
      const std::string eggs = eggs_of(mark);
      constexpr double kLetter = 6.2;
      // Where there is no room beside them it stands below, clear of the pale dots.
      const bool fits = x(mark.day) + 11 + kLetter * static_cast<double>(eggs.size()) < kRight;
      body_ += fits ? text_at(x(mark.day) + 11, middle() + 4, eggs, 11)
                    : text_at(kRight, y_ + kLane - 4, eggs, 11, kInk, "text-anchor=\"end\"");
    }
    y_ += kLane;
  }

  std::string eggs_of(const core::LifeMark& mark) const {
    for (const core::Clutch& clutch : life_.clutches)
      if (clutch.laid == mark.day && clutch.good)
        return fmt::format("{}+{}", *clutch.good, clutch.slugs.value_or(0)) +
               (clutch.hatched > 0 ? fmt::format(", {} hatched", clutch.hatched) : "") +
               (clutch.due ? ", due " + span_text(clutch.due->first, clutch.due->last) : "");
    return {};
  }

  /// "22 Nov to 3 Dec": the year stands in the picture.
  static std::string span_text(DayNumber first, DayNumber last) {
    const auto day = [](DayNumber number) {
      const std::string text = day_for_people(number);
      return text.substr(0, text.rfind(' '));
    };
    return day(first) + (last == first ? "" : " to " + day(last));
  }

  /// What it was treated with.
  static std::string remedy_of(const core::LifeMark& mark) {
    const std::string with = " with ";
    const auto at = mark.text.find(with);
    if (mark.kind != Kind::treated || at == std::string::npos) return {};
    return mark.text.substr(at + with.size(), mark.text.find(',', at) - at - with.size());
  }

  void care() {
    const auto wanted = [](Kind kind) { return kind == Kind::treated || kind == Kind::regurgitated; };
    if (std::none_of(life_.marks.begin(), life_.marks.end(), [&](const auto& mark) { return wanted(mark.kind); }))
      return;
    lane("Care", kCare);
    double free_from = 0;
    for (const core::LifeMark& mark : life_.marks) {
      if (!wanted(mark.kind)) continue;
      const double at = x(mark.day);
      const std::string shape =
          mark.kind == Kind::treated
              ? fmt::format(
                    "<path d=\"M{:.1f} {:.1f}v12M{:.1f} {:.1f}h12\" stroke=\"{}\" stroke-width=\"3.4\" "
                    "stroke-linecap=\"round\"/>",
                    at, middle() - 6, at - 6, middle(), kCare)
              : fmt::format("<path d=\"M{:.1f} {:.1f}l6 -10h-12z\" fill=\"none\" stroke=\"{}\" stroke-width=\"1.8\"/>",
                            at, middle() + 6, kCare);
      body_ += titled(shape, mark.text + ", " + day_for_people(mark.day));
      const std::string remedy = remedy_of(mark);
      constexpr double kLetter = 5.8;
      const double width = kLetter * static_cast<double>(remedy.size());
      const double from = std::min(at - 6, kRight - width);
      if (remedy.empty() || from < free_from) continue;
      body_ += text_at(from, middle() - 9, remedy, 10.5, kCare);
      free_from = from + width + 6;
    }
    y_ += kLane;
  }

  const Life& life_;
  DayNumber first_;
  DayNumber last_;
  double y_ = 0;
  std::vector<std::string> lanes_;  ///< drawn, by name
  std::string body_;
};

}  // namespace

std::string escaped(const std::string& text) {
  std::string out;
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        out += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
    }
  }
  return out;
}

std::string life_svg(const Life& life) {
  return Picture(life).draw();
}

}  // namespace rackside::cli
