#include "core/husbandry/plan.h"

#include <array>
#include <charconv>

namespace rackside::core {
namespace {

constexpr std::array<std::string_view, 9> kWords = {"nothing",  "food",        "overdue",  "open offer",    "check tub",
                                                    "off feed", "leave alone", "separate", "two in one tub"};

std::string nights(int count) {
  return std::to_string(count) + (count == 1 ? " night" : " nights");
}

std::string interval_text(const Interval& interval) {
  std::string text = "every " + std::to_string(interval.least);
  if (interval.most != interval.least) text += "–" + std::to_string(interval.most);
  return text + " days" + (interval.rule_of_thumb ? " (rule of thumb)" : "");
}

bool is_digits(std::string_view text) {
  return !text.empty() && text.find_first_not_of("0123456789") == std::string_view::npos;
}

std::optional<int> small_number(std::string_view text) {
  int number = 0;
  if (!is_digits(text) || text.size() > 3) return std::nullopt;
  std::from_chars(text.data(), text.data() + text.size(), number);
  return number > 0 ? std::optional(number) : std::nullopt;
}

void add_meal_lines(const AnimalFacts& facts, DayNumber tonight, std::vector<DueLine>& out) {
  if (facts.open_offer) return;
  if (facts.opaque) return;
  if (facts.regurgitated && tonight - *facts.regurgitated < kRestAfterRegurgitation) {
    const int since = tonight - *facts.regurgitated;
    out.push_back({Due::leave_alone, since,
                   "regurgitated " + nights(since) + " ago: rest, and ask a veterinarian if it happens again"});
    return;
  }
  if (!facts.last_meal) {
    const int since = facts.registered ? tonight - *facts.registered : 0;
    out.push_back({Due::food, since, "no meal in this book yet"});
    return;
  }
  const int since = tonight - *facts.last_meal;
  const std::string why = "last ate " + nights(since) + " ago, " + interval_text(facts.interval);
  if (since > facts.interval.most) {
    out.push_back({Due::overdue, since - facts.interval.most, why});
  } else if (since >= facts.interval.least) {
    out.push_back({Due::food, since - facts.interval.least, why});
  }
}

}  // namespace

std::string_view word_of(Due due) {
  return kWords.at(static_cast<std::size_t>(due));
}

std::optional<Interval> parse_interval(const std::string& text) {
  const auto dash = text.find('-');
  const auto least = small_number(std::string_view(text).substr(0, dash));
  const auto most = dash == std::string::npos ? least : small_number(std::string_view(text).substr(dash + 1));
  if (!least || !most || *most < *least) return std::nullopt;
  return Interval{*least, *most, false};
}

Interval usual_interval(std::optional<DayNumber> hatched, DayNumber today) {
  constexpr int kFirstYear = 365;
  if (hatched && today - *hatched < kFirstYear) return {5, 7, true};
  return {10, 14, true};
}

std::vector<DueLine> due_for(const AnimalFacts& facts, DayNumber tonight) {
  std::vector<DueLine> out;
  if (facts.check_tub) {
    const int since = tonight - *facts.check_tub;
    out.push_back(
        {Due::check_tub, since, "one account says it ate, another that it refused: look, and scan what you see"});
  }
  if (facts.caution_night && tonight - *facts.caution_night <= 2 && facts.caution == "perhaps-fed-twice") {
    out.push_back(
        {Due::leave_alone, tonight - *facts.caution_night, "perhaps fed twice: leave alone, watch for regurgitation"});
  }
  if (facts.open_offer) {
    out.push_back({Due::open_offer, tonight - *facts.open_offer, "food is in the tub: look in the morning"});
  }
  if (facts.refusals >= kRefusalsOffFeed) {
    out.push_back({Due::off_feed, facts.refusals,
                   "refused " + std::to_string(facts.refusals) +
                       " times in a row: look, weigh, and ask a veterinarian if it loses weight"});
  }
  if (!facts.check_tub) add_meal_lines(facts, tonight, out);
  return out;
}

}  // namespace rackside::core
