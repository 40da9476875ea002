#include <algorithm>
#include <array>

#include "core/rules/rule.h"

namespace rackside::core {
namespace {

Verdict answer_feeding(Verdict verdict, std::string_view answer) {
  if (answer == "once" || answer == "ate") verdict.amount = 1;
  if (answer == "twice") verdict.amount = 2;
  if (answer == "refused") verdict.amount = 0;
  verdict.outcome = answer == "refused" ? "refused" : "ate";
  verdict.detail.set("caution", answer == "twice" ? Value("fed-twice") : Value());
  return verdict;
}

Verdict answer_laying(Verdict verdict, std::string_view answer) {
  if (answer == "more-eggs") {
    const std::int64_t good = verdict.detail.number("together_good");
    const std::int64_t slugs = verdict.detail.number("together_slugs");
    verdict.amount = good + slugs;
    verdict.detail.set("good", good);
    verdict.detail.set("slugs", slugs);
  }
  return verdict;
}

Verdict answer_hatching(Verdict verdict, std::string_view answer) {
  if (answer == "more-young") verdict.amount = verdict.detail.number("together");
  return verdict;
}

/// Where the answer itself is the belief: a place, an animal's code, a value, "gone" or "stands".
Verdict answer_itself(Verdict verdict, std::string_view answer) {
  verdict.outcome = std::string(answer);
  return verdict;
}

const std::array<Rule, 16>& table() {
  using By = Grouping::By;
  static const std::array<Rule, 16> rules = {{
      {RuleId::feeding,
       "feeding",
       {Kind::fed, Kind::refused, Kind::offered, Kind::leftover, Kind::ate},
       {By::night, 0},
       judge_feeding,
       answer_feeding,
       "one feeding night, accounts that disagree",
       "Two meals that may be one count as one, and the animal is left alone and watched for regurgitation. A meal "
       "against a refusal counts as neither: the tub is checked."},
      {RuleId::shed,
       "shed",
       {Kind::shed, Kind::cleared},
       {By::days, 7},
       judge_shed,
       answer_itself,
       "several sheds within a week",
       "One shed, on the earliest day. Stuck is believed over complete until somebody clears it."},
      {RuleId::laying,
       "laying",
       {Kind::laid},
       {By::hours, 48},
       judge_laying,
       answer_laying,
       "eggs counted more than once within 48 hours",
       "The larger count, so that no egg is forgotten in the tub. Eggs that come later than 48 hours after the first "
       "are more eggs: have a veterinarian look at the female."},
      {RuleId::pairing,
       "pairing",
       {},
       {},
       nullptr,
       answer_itself,
       "one animal put to two partners, separation not recorded",
       "Find him: both partners stay on the list of those to separate, and he stays a possible sire of both."},
      {RuleId::whereabouts,
       "whereabouts",
       {},
       {},
       nullptr,
       answer_itself,
       "one animal in two places",
       "The move seen last is believed; both tubs are to be checked."},
      {RuleId::two_in_tub,
       "two-in-tub",
       {},
       {},
       nullptr,
       answer_itself,
       "two animals at one place that were not paired",
       "Both are believed to be there: look before anybody feeds, snakes eat snakes."},
      {RuleId::whose,
       "whose",
       {},
       {},
       nullptr,
       answer_itself,
       "a place was scanned, and by the merged log another animal lived there",
       "Cleaning and water hold for whoever lives there; a meal or a refusal goes to whom the log has there, with a "
       "notice; weights, eggs, locks and sexing count for nobody, a treatment for both, until somebody says whose it "
       "was."},
      {RuleId::withdrawal,
       "withdrawal",
       {},
       {},
       nullptr,
       answer_itself,
       "somebody withdrew another's treatment, eggs, hatching, death or sale",
       "What was recorded stands until a person agrees that it never was."},
      {RuleId::field,
       "field",
       {},
       {},
       nullptr,
       answer_itself,
       "one field of the register set twice, unawares",
       "The value entered last is believed and the others are shown; for sex, hatch date and identity a person is "
       "asked."},
      {RuleId::dosing,
       "dosing",
       {Kind::treated},
       {By::hours, 24},
       judge_dosing,
       answer_itself,
       "one animal treated more than once within 24 hours",
       "Every dose that was told is believed given, because one too many is the danger, and whoever treats next is "
       "warned. Nothing is asked. Before the next dose ask the veterinarian who prescribed it."},
      {RuleId::hatching,
       "hatching",
       {Kind::hatched},
       {By::days, 14},
       judge_hatching,
       answer_hatching,
       "young that may have been counted twice",
       "A numbered egg hatches once. Of counts that may be of the same young the larger is believed, so that no "
       "hatchling is forgotten in the box: look into it."},
      {RuleId::gone,
       "gone",
       {},
       {},
       nullptr,
       answer_itself,
       "something was seen of an animal after it left or died",
       "Both are kept, and the animal stays off the lists: wrong animal, or wrong record? Look for it. If it is here, "
       "withdraw the entry of its leaving; if another was meant, withdraw the later entries."},
      {RuleId::male_eggs,
       "male-eggs",
       {},
       {},
       nullptr,
       answer_itself,
       "eggs of an animal that is recorded as male",
       "The eggs count and the register stands: wrong animal, or wrong record? Edit the sex, or withdraw the entry."},
      {RuleId::one_sex_pair,
       "one-sex-pair",
       {},
       {},
       nullptr,
       answer_itself,
       "a pairing of two animals of one sex",
       "They are believed to be together and stay on the list of those to separate: look soon, two males may fight. "
       "Edit the sex, or withdraw the pairing."},
      {RuleId::ancestry,
       "ancestry",
       {},
       {},
       nullptr,
       answer_itself,
       "an animal among its own ancestors",
       "All statements are kept, and none of those in the ring counts for odds or kinship until somebody says which is "
       "wrong."},
      {RuleId::unread,
       "unread",
       {},
       {},
       nullptr,
       answer_itself,
       "entries of a device that had been retired before",
       "They are kept and shown, and count for nothing: a lost device may be in strange hands. Whoever retires it once "
       "more lets count what it wrote until then."},
  }};
  return rules;
}

bool answers_allowed(const Verdict& verdict, std::string_view answer) {
  return std::find(verdict.answers.begin(), verdict.answers.end(), answer) != verdict.answers.end();
}

}  // namespace

std::span<const Rule> rule_table() {
  return table();
}

const Rule& rule_of(RuleId id) {
  return table().at(static_cast<std::size_t>(id) - 1);
}

const Rule* rule_named(std::string_view name) {
  const auto found = std::find_if(table().begin(), table().end(), [&](const Rule& rule) { return rule.name == name; });
  return found == table().end() ? nullptr : &*found;
}

std::span<const RuleId> rules_for(Kind kind) {
  static const auto by_kind = [] {
    std::array<std::vector<RuleId>, 256> out;
    for (const Rule& rule : table()) {
      for (Kind k : rule.kinds) out[static_cast<std::size_t>(k)].push_back(rule.id);
    }
    return out;
  }();
  return by_kind[static_cast<std::size_t>(kind)];
}

Verdict settle(const Rule& rule, const Verdict& verdict, const std::vector<Settlement>& full,
               const std::vector<Settlement>& partial) {
  if (!verdict.asks) return verdict;
  if (!full.empty()) {
    const std::string& answer = full.front().answer;
    const bool agreed =
        std::all_of(full.begin(), full.end(), [&](const Settlement& one) { return one.answer == answer; });
    Verdict settled = verdict;
    if (!agreed) {
      settled.detail.set("settled", "differently");
    } else if (answers_allowed(verdict, answer)) {
      settled = rule.apply(verdict, answer);
      settled.asks = false;
      settled.detail.set("settled", answer);
    }
    return settled;
  }
  if (partial.empty()) return verdict;
  const Settlement& last =
      *std::max_element(partial.begin(), partial.end(),
                        [](const Settlement& a, const Settlement& b) { return ranks_below(a.account, b.account); });
  if (!answers_allowed(verdict, last.answer)) return verdict;
  Verdict reopened = rule.apply(verdict, last.answer);
  reopened.asks = true;
  reopened.detail.set("settled_before", last.answer);
  return reopened;
}

}  // namespace rackside::core
