#include "core/husbandry/season.h"

#include <algorithm>
#include <charconv>

namespace rackside::core {
namespace {

constexpr std::array<StepInfo, kSteps> kTable = {{
    {Step::pairing_to_laying, "pairing-to-laying", "paired", "lays"},
    {Step::ovulation_to_shed, "ovulation-to-shed", "ovulated", "sheds before laying"},
    {Step::shed_to_laying, "shed-to-laying", "shed before laying", "lays"},
    {Step::laying_to_hatching, "laying-to-hatching", "laid", "eggs hatch"},
}};

/// Common practice, no source; accounts disagree. The ball python's pairings last for months and tell no day.
struct UsualSeason {
  std::string_view species;
  SeasonRules rules;
};
const std::array<UsualSeason, 2>& usual_seasons() {
  static const std::array<UsualSeason, 2> seasons = {{
      {"corn snake",
       {{Step::pairing_to_laying, {45, 75}}, {Step::shed_to_laying, {7, 14}}, {Step::laying_to_hatching, {55, 62}}}},
      {"ball python",
       {{Step::ovulation_to_shed, {14, 28}}, {Step::shed_to_laying, {28, 50}}, {Step::laying_to_hatching, {55, 60}}}},
  }};
  return seasons;
}

/// After so long without eggs a pairing leads to nothing more.
constexpr int kForgotten = 60;

bool tells_of_eggs(Kind kind) {
  return kind == Kind::ovulated || kind == Kind::palpated || kind == Kind::gravid;
}

/// One female's way from pairing to hatching, as far as it was seen.
struct Progress {
  std::optional<DayNumber> paired, ovulated, eggs_seen, shed, laid;

  /// Takes one fact in; calls `done` with a step and its days when one ends.
  template <typename Done>
  void take(const SeasonFact& fact, Done&& done) {
    if (fact.kind == Kind::paired || fact.kind == Kind::locked) {
      paired = fact.day;
    } else if (tells_of_eggs(fact.kind)) {
      eggs_seen = eggs_seen ? eggs_seen : fact.day;
      if (fact.kind == Kind::ovulated) ovulated = fact.day;
    } else if (fact.kind == Kind::shed) {
      take_shed(fact.day, done);
    } else if (fact.kind == Kind::laid) {
      take_laid(fact.day, done);
    } else if (fact.kind == Kind::hatched && laid) {
      done(Step::laying_to_hatching, fact.day - *laid);
      laid.reset();
    }
  }

 private:
  template <typename Done>
  void take_shed(DayNumber day, Done&& done) {
    // Only a shed after eggs were seen on her is the one before laying; others are ordinary.
    if (!eggs_seen || day < *eggs_seen) return;
    if (ovulated && !shed) done(Step::ovulation_to_shed, day - *ovulated);
    shed = day;
  }
  template <typename Done>
  void take_laid(DayNumber day, Done&& done) {
    if (shed) done(Step::shed_to_laying, day - *shed);
    if (paired) done(Step::pairing_to_laying, day - *paired);
    *this = {};
    laid = day;
  }
};

bool plausible(const RuleOfThumb& rule, int days) {
  return days >= rule.least / 2 && days <= rule.most * 2;
}

std::optional<int> number(std::string_view text) {
  int out = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out);
  return error == std::errc{} && end == text.data() + text.size() && out > 0 ? std::optional(out) : std::nullopt;
}

}  // namespace

std::span<const StepInfo> step_table() {
  return kTable;
}

const StepInfo& info_of(Step step) {
  return kTable[static_cast<std::size_t>(step)];
}

std::optional<Step> step_of(std::string_view word) {
  for (const StepInfo& one : kTable) {
    if (one.word == word) return one.step;
  }
  return std::nullopt;
}

SeasonRules usual_season(std::string_view species) {
  for (const UsualSeason& one : usual_seasons()) {
    if (one.species == species) return one.rules;
  }
  return {};
}

std::optional<RuleOfThumb> parse_days(std::string_view text) {
  const auto dash = text.find('-');
  const auto least = number(text.substr(0, dash));
  const auto most = dash == std::string_view::npos ? least : number(text.substr(dash + 1));
  if (!least || !most || *most < *least || *most > kLongestStep) return std::nullopt;
  return RuleOfThumb{static_cast<double>(*least), static_cast<double>(*most)};
}

std::map<Step, std::vector<double>> past_intervals(std::span<const SeasonFact> facts, const SeasonRules& rules) {
  std::map<Step, std::vector<double>> out;
  Progress progress;
  for (const SeasonFact& fact : facts) {
    progress.take(fact, [&](Step step, int days) {
      const auto rule = rules.find(step);
      if (rule != rules.end() && plausible(rule->second, days)) out[step].push_back(days);
    });
  }
  return out;
}

std::vector<Expected> expected_of(std::span<const SeasonFact> facts, const SeasonRules& rules,
                                  const std::map<Step, std::vector<double>>& own, DayNumber today) {
  Progress progress;
  for (const SeasonFact& fact : facts) {
    if (fact.day <= today) progress.take(fact, [](Step, int) {});
  }
  std::vector<Expected> out;
  const auto expect = [&](Step step, std::optional<DayNumber> since) {
    const auto rule = rules.find(step);
    if (!since || rule == rules.end()) return false;
    const auto known = own.find(step);
    const Window window =
        window_of(rule->second, known == own.end() ? std::span<const double>{} : std::span(known->second));
    Expected one{.step = step, .since = *since, .window = window};
    one.first = *since + window.first;
    one.last = *since + window.last;
    one.late = std::max(0, today - one.last);
    if (one.late <= kForgotten) out.push_back(one);
    return true;
  };
  // The nearest sign tells most.
  if (!expect(Step::shed_to_laying, progress.shed) &&
      !(!progress.shed && expect(Step::ovulation_to_shed, progress.ovulated)))
    expect(Step::pairing_to_laying, progress.paired);
  expect(Step::laying_to_hatching, progress.laid);
  return out;
}

}  // namespace rackside::core
