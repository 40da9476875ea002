#include "core/husbandry/diet.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

namespace rackside::core {
namespace {

constexpr int kMostGramsTenths = 50'000;
constexpr int kMostShareTenths = 600;
constexpr double kYear = 365.25;
constexpr int kMostAgeDays = 36'525;
constexpr std::array<std::string_view, 5> kReasons = {"cooling", "breeding", "veterinarian", "shipping", "other"};

/// "12" or "12.5" as tenths.
std::optional<int> tenths(std::string_view text) {
  const auto point = text.find('.');
  const std::string_view whole = text.substr(0, point);
  int out = 0;
  const auto [end, error] = std::from_chars(whole.data(), whole.data() + whole.size(), out);
  if (whole.empty() || whole.size() > 6 || whole[0] == '-' || error != std::errc{} ||
      end != whole.data() + whole.size())
    return std::nullopt;
  if (point == std::string_view::npos) return out * 10;
  const std::string_view rest = text.substr(point + 1);
  if (rest.size() != 1 || rest[0] < '0' || rest[0] > '9') return std::nullopt;
  return out * 10 + (rest[0] - '0');
}

std::string_view without(std::string_view text, std::string_view suffix) {
  return text.ends_with(suffix) ? text.substr(0, text.size() - suffix.size()) : text;
}

/// Both ends of "a-b", or one twice.
std::pair<std::string_view, std::string_view> ends_of(std::string_view text) {
  const auto dash = text.find('-');
  return {text.substr(0, dash), dash == std::string_view::npos ? text : text.substr(dash + 1)};
}

std::optional<TenthsRange> parse_range(std::string_view text, std::string_view unit, int most) {
  const auto [first, second] = ends_of(text);
  const auto low = tenths(without(first, unit));
  const auto high = tenths(without(second, unit));
  if (!low || !high || *low <= 0 || *high < *low || *high > most) return std::nullopt;
  return TenthsRange{*low, *high};
}

std::string tenths_text(int value) {
  return std::to_string(value / 10) + (value % 10 == 0 ? "" : "." + std::to_string(value % 10));
}

/// "6m" as days; a number without a unit takes `unit`.
std::optional<int> age_days(std::string_view text, char unit) {
  if (text.empty()) return std::nullopt;
  const char last = text.back();
  if (last == 'd' || last == 'm' || last == 'y') {
    unit = last;
    text.remove_suffix(1);
  }
  const auto value = tenths(text);
  if (!value) return std::nullopt;
  const double days = *value / 10.0 * (unit == 'd' ? 1 : unit == 'm' ? kYear / 12 : kYear);
  return days <= kMostAgeDays ? std::optional(static_cast<int>(std::lround(days))) : std::nullopt;
}

std::string age_text(int days) {
  constexpr double kMonth = kYear / 12;
  for (const auto& [length, word] : {std::pair(kYear, " year"), std::pair(kMonth, " month")}) {
    const int count = static_cast<int>(std::lround(days / length));
    if (count > 0 && std::abs(days - count * length) < 1) return std::to_string(count) + word + (count == 1 ? "" : "s");
  }
  return std::to_string(days) + " days";
}

/// "hatchling (0 days – 6 months)"
std::string called(const Stage& stage) {
  const std::string reach = reach_text(stage);
  if (stage.name.empty()) return reach.empty() ? "the stage that always holds" : "the stage of " + reach;
  return "“" + stage.name + "”" + (reach.empty() ? "" : " (" + reach + ")");
}

bool overlap(const Stage& a, const Stage& b) {
  const bool a_before_b = a.to != 0 && a.to <= b.from;
  const bool b_before_a = b.to != 0 && b.to <= a.from;
  return !a_before_b && !b_before_a;
}

std::string problem_of_stage(const Stage& stage) {
  if (stage.interval.least < 1 || stage.interval.most < stage.interval.least)
    return "The interval of " + called(stage) + " is empty: write days, as 7 or 7-10.";
  if (stage.by != StageBy::always && stage.to != 0 && stage.to <= stage.from)
    return "The stage “" + stage.name + "” holds for nobody: its end is not after its beginning.";
  if (stage.count < 1 || stage.count > 99) return "A meal of " + called(stage) + " has 1 to 99 prey.";
  if (stage.share && (stage.share->least <= 0 || stage.share->most < stage.share->least))
    return "The share of body weight of " + called(stage) + " is empty: write per cent, as 10-15.";
  return {};
}

std::string problem_of_pair(const Stage& a, const Stage& b) {
  if (a.by == StageBy::always || b.by == StageBy::always)
    return a.by == b.by ? "Two stages would always hold: only one can." : "";
  if (a.by != b.by) {
    return "A plan goes by age or by weight, not by both: " + called(a) + " and " + called(b) + ".";
  }
  return overlap(a, b) ? "Two stages overlap: " + called(a) + " and " + called(b) + "." : "";
}

const Stage* stage_for(const FeedingPlan& plan, std::optional<int> age, int grams_tenths) {
  const Stage* always = nullptr;
  for (const Stage& stage : plan) {
    if (stage.by == StageBy::always) always = &stage;
    const bool known = stage.by == StageBy::age ? age.has_value() : stage.by == StageBy::weight && grams_tenths > 0;
    if (!known) continue;
    const int value = stage.by == StageBy::age ? *age : grams_tenths;
    if (value >= stage.from && (stage.to == 0 || value < stage.to)) return &stage;
  }
  return always;
}

Interval interval_in(const Value& value) {
  return {static_cast<int>(value.number("least")), static_cast<int>(value.number("most")), false};
}

}  // namespace

std::optional<TenthsRange> parse_grams_range(std::string_view text) {
  return parse_range(text, "g", kMostGramsTenths);
}

std::optional<TenthsRange> parse_share(std::string_view text) {
  return parse_range(text, "%", kMostShareTenths);
}

std::string range_text(const TenthsRange& range) {
  return range.least == range.most ? tenths_text(range.least)
                                   : tenths_text(range.least) + "–" + tenths_text(range.most);
}

bool parse_age_range(std::string_view text, Stage& stage) {
  const auto dash = text.find('-');
  if (dash == std::string_view::npos) return false;
  const std::string_view second = text.substr(dash + 1);
  const char unit = second.empty() || (second.back() >= '0' && second.back() <= '9') ? 'd' : second.back();
  const auto from = age_days(text.substr(0, dash), unit);
  const auto to = second.empty() ? std::optional(0) : age_days(second, 'd');
  if (!from || !to) return false;
  stage.by = StageBy::age;
  stage.from = *from;
  stage.to = *to;
  return second.empty() || *to > 0;
}

bool parse_weight_range(std::string_view text, Stage& stage) {
  const auto dash = text.find('-');
  if (dash == std::string_view::npos) return false;
  const std::string_view second = without(text.substr(dash + 1), "g");
  const auto from = tenths(without(text.substr(0, dash), "g"));
  const auto to = second.empty() ? std::optional(0) : tenths(second);
  if (!from || !to) return false;
  stage.by = StageBy::weight;
  stage.from = *from;
  stage.to = *to;
  return second.empty() || *to > 0;
}

std::string reach_text(const Stage& stage) {
  if (stage.by == StageBy::always) return {};
  const bool age = stage.by == StageBy::age;
  const std::string from = age ? age_text(stage.from) : tenths_text(stage.from) + " g";
  if (stage.to == 0) return "from " + from;
  const std::string to = age ? age_text(stage.to) : tenths_text(stage.to) + " g";
  return stage.from == 0 ? "to " + to : from + " to " + to;
}

std::string problem_of(const FeedingPlan& plan) {
  for (std::size_t a = 0; a < plan.size(); ++a) {
    if (std::string problem = problem_of_stage(plan[a]); !problem.empty()) return problem;
    for (std::size_t b = 0; b < a; ++b) {
      if (std::string problem = problem_of_pair(plan[b], plan[a]); !problem.empty()) return problem;
    }
  }
  return {};
}

Value value_of(const FeedingPlan& plan) {
  Value::Array out;
  for (const Stage& stage : plan) {
    Value one = Value::Object{};
    if (!stage.name.empty()) one.set("stage", stage.name);
    if (stage.by != StageBy::always) {
      one.set("by", stage.by == StageBy::age ? "age" : "weight");
      one.set("from", stage.from);
      if (stage.to != 0) one.set("to", stage.to);
    }
    one.set("least", stage.interval.least);
    one.set("most", stage.interval.most);
    if (!stage.prey.empty()) one.set("prey", stage.prey);
    if (stage.count != 1) one.set("count", stage.count);
    if (stage.share) {
      one.set("share_least", stage.share->least);
      one.set("share_most", stage.share->most);
    }
    out.push_back(std::move(one));
  }
  return out;
}

std::optional<FeedingPlan> plan_of(const Value& value) {
  if (!value.as_array() || value.as_array()->empty()) return std::nullopt;
  FeedingPlan plan;
  for (const Value& one : *value.as_array()) {
    Stage stage{.name = std::string(one.text("stage")), .interval = interval_in(one)};
    const std::string_view by = one.text("by");
    stage.by = by == "age" ? StageBy::age : by == "weight" ? StageBy::weight : StageBy::always;
    stage.from = static_cast<int>(one.number("from"));
    stage.to = static_cast<int>(one.number("to"));
    stage.prey = one.text("prey");
    stage.count = static_cast<int>(one.number("count", 1));
    if (one.find("share_least"))
      stage.share = {static_cast<int>(one.number("share_least")), static_cast<int>(one.number("share_most"))};
    plan.push_back(std::move(stage));
  }
  return problem_of(plan).empty() ? std::optional(std::move(plan)) : std::nullopt;
}

bool is_reason_to_fast(std::string_view word) {
  return std::find(kReasons.begin(), kReasons.end(), word) != kReasons.end();
}

std::string text_of(const Fast& fast) {
  return date_text(fast.from) + " " + date_text(fast.to) + " " + fast.why;
}

std::optional<Fast> parse_fast(std::string_view text) {
  constexpr std::size_t kDate = 10;
  if (text.size() < 2 * kDate + 3 || text[kDate] != ' ' || text[2 * kDate + 1] != ' ') return std::nullopt;
  Fast out{.why = std::string(text.substr(2 * kDate + 2))};
  const bool good = parse_date(text.substr(0, kDate), out.from) && parse_date(text.substr(kDate + 1, kDate), out.to) &&
                    out.from <= out.to && is_reason_to_fast(out.why);
  return good ? std::optional(std::move(out)) : std::nullopt;
}

std::string prey_name(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const bool joins = c == ' ' || c == '\t' || c == '-';
    if (joins && (out.empty() || out.back() == '-')) continue;
    out += joins ? '-' : c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  }
  while (!out.empty() && out.back() == '-') out.pop_back();
  return out;
}

std::optional<DayNumber> hatched_day(std::string_view text) {
  std::string whole(text);
  if (whole.size() == 4) whole += "-07";
  if (whole.size() == 7) whole += "-01";
  DayNumber day = 0;
  return parse_date(whole, day) ? std::optional(day) : std::nullopt;
}

std::optional<std::pair<std::string, int>> prey_for(const TenthsRange& wanted,
                                                    const std::map<std::string, TenthsRange, std::less<>>& preys) {
  std::optional<std::pair<std::string, int>> best;
  double best_apart = 0;
  const double middle = (wanted.least + wanted.most) / 2.0;
  for (int count = 1; count <= kMostAtOnce; ++count) {
    for (const auto& [name, grams] : preys) {
      if (grams.most * count < wanted.least || grams.least * count > wanted.most) continue;
      const double apart = std::abs((grams.least + grams.most) / 2.0 * count - middle);
      if (best && apart >= best_apart) continue;
      best = {name, count};
      best_apart = apart;
    }
    if (best) break;  // one that fits is better than two that fit as well
  }
  return best;
}

namespace {

/// A stage of a plan that holds for an animal, and the plan's name.
struct Held {
  const Stage* stage = nullptr;
  std::string_view plan;
};

/// Of the plan of its class, then of its species'.
std::vector<Held> held_stages(const Eater& eater, const CareSettings& settings, DayNumber today) {
  const auto age = eater.hatched ? std::optional(today - *eater.hatched) : std::nullopt;
  std::vector<Held> out;
  for (const std::string_view name : {eater.plan, eater.species}) {
    const auto plan = settings.plans.find(name);
    if (name.empty() || plan == settings.plans.end()) continue;
    if (const Stage* stage = stage_for(plan->second, age, eater.grams_tenths)) out.push_back({stage, name});
  }
  return out;
}

std::string by_text(const Held& held) {
  return "plan “" + std::string(held.plan) + "”" +
         (held.stage->name.empty() ? "" : ", stage “" + held.stage->name + "”");
}

/// Its own, else of the first stage that holds, else by a rule of thumb.
Interval interval_by(std::optional<Interval> own, const std::vector<Held>& stages, const Eater& eater,
                     DayNumber today) {
  if (own) return *own;
  return stages.empty() ? usual_interval(eater.hatched, today) : stages.front().stage->interval;
}

}  // namespace

Interval interval_of(const Eater& eater, const CareSettings& settings, DayNumber today) {
  return interval_by(parse_interval(eater.every), held_stages(eater, settings, today), eater, today);
}

Diet diet_of(const Eater& eater, const CareSettings& settings, DayNumber today) {
  const std::vector<Held> stages = held_stages(eater, settings, today);
  const auto own = parse_interval(eater.every);
  Diet out{.interval = interval_by(own, stages, eater, today),
           .by = own              ? "its own"
                 : stages.empty() ? "rule of thumb"
                                  : by_text(stages.front()),
           .prey = prey_name(eater.prey)};
  if (!eater.prey.empty()) out.prey_by = "its own";
  for (const Held& held : stages) {
    if (!out.prey.empty() || out.grams) break;
    const Stage& stage = *held.stage;
    if (stage.share && eater.grams_tenths > 0) {
      constexpr std::int64_t kWhole = 1000;
      out.grams = {static_cast<int>(std::int64_t{eater.grams_tenths} * stage.share->least / kWhole),
                   static_cast<int>(std::int64_t{eater.grams_tenths} * stage.share->most / kWhole)};
      out.prey_by = by_text(held) + ", by weight";
      if (const auto found = prey_for(*out.grams, settings.preys)) std::tie(out.prey, out.count) = *found;
    } else if (!stage.prey.empty()) {
      out.prey = stage.prey;
      out.count = stage.count;
      out.prey_by = by_text(held);
    }
  }
  return out;
}

std::string meal_text(const Diet& diet) {
  std::string out = diet.count > 1 && !diet.prey.empty() ? std::to_string(diet.count) + " × " + diet.prey : diet.prey;
  if (!diet.grams) return out;
  const std::string about = "about " + range_text(*diet.grams) + " g";
  return out.empty() ? about : out + " (" + about + ")";
}

}  // namespace rackside::core
