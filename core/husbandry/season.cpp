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

/// Follows one female's way from pairing to hatching, as far as it was seen.
class Follower {
 public:
  explicit Follower(SeasonRecord& record) : now_(record.progress), past_(record.past) {}

  void take(const SeasonFact& fact) {
    if (fact.kind == Kind::paired || fact.kind == Kind::locked) {
      now_.paired = fact.day;
    } else if (tells_of_eggs(fact.kind)) {
      now_.eggs_seen = now_.eggs_seen ? now_.eggs_seen : fact.day;
      if (fact.kind == Kind::ovulated) now_.ovulated = fact.day;
    } else if (fact.kind == Kind::shed) {
      take_shed(fact.day);
    } else if (fact.kind == Kind::laid) {
      take_laid(fact.day);
    } else if (fact.kind == Kind::hatched && now_.laid) {
      past_.push_back({Step::laying_to_hatching, fact.day - *now_.laid});
      now_.laid.reset();
    }
  }

 private:
  void take_shed(DayNumber day) {
    // Only a shed after eggs were seen on her is the one before laying; others are ordinary.
    if (!now_.eggs_seen || day < *now_.eggs_seen) return;
    if (now_.ovulated && !now_.shed) past_.push_back({Step::ovulation_to_shed, day - *now_.ovulated});
    now_.shed = day;
  }
  void take_laid(DayNumber day) {
    if (now_.shed) past_.push_back({Step::shed_to_laying, day - *now_.shed});
    if (now_.paired) past_.push_back({Step::pairing_to_laying, day - *now_.paired});
    now_ = {.laid = day};
  }

  SeasonProgress& now_;
  std::vector<StepDays>& past_;
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

SeasonRecord season_record(std::span<const SeasonFact> facts) {
  SeasonRecord out;
  Follower follower(out);
  for (const SeasonFact& fact : facts) follower.take(fact);
  return out;
}

void add_past(std::span<const StepDays> past, const SeasonRules& rules, PastDays& out) {
  for (const auto& [step, days] : past) {
    const auto rule = rules.find(step);
    if (rule != rules.end() && plausible(rule->second, days)) out[step].push_back(days);
  }
}

PastDays past_intervals(std::span<const SeasonFact> facts, const SeasonRules& rules) {
  PastDays out;
  add_past(season_record(facts).past, rules, out);
  return out;
}

StepWindows windows_of(const SeasonRules& rules, const PastDays& own) {
  StepWindows out;
  for (const auto& [step, rule] : rules) {
    const auto known = own.find(step);
    out[step] = window_of(rule, known == own.end() ? std::span<const double>{} : std::span(known->second));
  }
  return out;
}

std::vector<Expected> expected_of(std::span<const SeasonFact> facts, const StepWindows& windows, DayNumber today) {
  const auto after = std::find_if(facts.begin(), facts.end(), [&](const SeasonFact& fact) { return fact.day > today; });
  const auto known = facts.first(static_cast<std::size_t>(after - facts.begin()));
  return expected_of(season_record(known).progress, windows, today);
}

std::vector<Expected> expected_of(const SeasonProgress& progress, const StepWindows& windows, DayNumber today) {
  std::vector<Expected> out;
  const auto expect = [&](Step step, std::optional<DayNumber> since) {
    const auto found = windows.find(step);
    if (!since || found == windows.end()) return false;
    const Window& window = found->second;
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
