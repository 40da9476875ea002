#include "core/husbandry/plan.h"

#include <array>
#include <charconv>

#include "core/husbandry/signs.h"

namespace rackside::core {
namespace {

constexpr std::array<DueInfo, 20> kInfos = {{
    {Due::nothing, "nothing", false, false},
    {Due::food, "food", false, false},
    {Due::overdue, "overdue", false, false},
    {Due::open_offer, "open offer", false, false},
    {Due::check_tub, "check tub", true, false},
    {Due::off_feed, "off feed", true, false},
    {Due::leave_alone, "leave alone", true, false},
    {Due::separate, "separate", true, false},
    {Due::two_in_tub, "two in one tub", true, false},
    {Due::dose, "dose", true, false},
    {Due::stuck_shed, "stuck shed", true, false},
    {Due::shed_late, "shed late", true, false},
    {Due::weight_loss, "weight loss", true, false},
    {Due::ill, "ill", true, false},
    {Due::near_ill, "near an ill one", true, false},
    {Due::unseen, "not seen", true, false},
    {Due::rotate, "rotate", false, true},
    {Due::eggs, "eggs", false, false},
    {Due::hatching, "hatching", false, false},
    {Due::look_again, "look again", false, false},
}};

constexpr bool in_order() {
  for (std::size_t i = 0; i < kInfos.size(); ++i)
    if (static_cast<std::size_t>(kInfos[i].due) != i) return false;
  return true;
}
static_assert(in_order(), "one row a sort of line, in the order of the enumeration");

/// A perhaps second meal is watched for so many nights.
constexpr int kNightsWatched = 2;

std::string nights(int count) {
  return std::to_string(count) + (count == 1 ? " night" : " nights");
}

std::string days(int count) {
  return std::to_string(count) + (count == 1 ? " day" : " days");
}

std::string interval_text(const Interval& interval) {
  std::string text = "every " + std::to_string(interval.least);
  if (interval.most != interval.least) text += "–" + std::to_string(interval.most);
  return text + (interval.most == 1 ? " day" : " days") + (interval.rule_of_thumb ? " (rule of thumb)" : "");
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

std::string meal_why(const AnimalFacts& facts, const Limits& limits, const Moment& moment) {
  const int since = moment.tonight - *facts.last_meal;
  const std::string why = "last ate " + nights(since) + " ago, " + interval_text(facts.interval);
  if (is_gravid(facts, limits, moment.today)) return why + "; gravid: she may refuse";
  const int late = since - facts.interval.most;
  return late > 0 ? nights(late) + " late: " + why : why;
}

void add_meal_line(const AnimalFacts& facts, const Limits& limits, const Moment& moment, std::vector<DueLine>& out) {
  const MealState meal = meal_state(facts, limits, moment);
  if (meal.state == Meal::rests) {
    out.push_back({Due::leave_alone, meal.days,
                   "regurgitated " + nights(meal.days) + " ago: rest, and ask a veterinarian if it happens again"});
  } else if (meal.state == Meal::none_yet) {
    out.push_back({Due::food, meal.days, "no meal in this book yet"});
  } else if (meal.state == Meal::due || meal.state == Meal::overdue) {
    // Nobody is alarmed by a gravid female's empty belly.
    const bool alarms = meal.state == Meal::overdue && !is_gravid(facts, limits, moment.today);
    out.push_back({alarms ? Due::overdue : Due::food, meal.days, meal_why(facts, limits, moment)});
  }
}

/// Colour and pattern are told better in a clean skin (common practice, no source).
void add_look_again(const AnimalFacts& facts, const Moment& moment, std::vector<DueLine>& out) {
  if (!facts.unsure_look || !facts.shed || *facts.shed < *facts.unsure_look) return;
  const int since = moment.today - *facts.shed;
  out.push_back({Due::look_again, since,
                 "nobody was sure of its look, and it has shed since (" +
                     (since == 0 ? "today" : days(since) + " ago") + "): look again, and say what you see"});
}

}  // namespace

const DueInfo& info_of(Due due) {
  return kInfos[static_cast<std::size_t>(due)];
}

std::string_view word_of(Due due) {
  return info_of(due).word;
}

std::optional<Interval> parse_interval(std::string_view text) {
  const auto dash = text.find('-');
  const auto least = small_number(text.substr(0, dash));
  const auto most = dash == std::string_view::npos ? least : small_number(text.substr(dash + 1));
  if (!least || !most || *most < *least) return std::nullopt;
  return Interval{*least, *most, false};
}

std::string text_of(const Interval& interval) {
  std::string text = std::to_string(interval.least);
  return interval.most == interval.least ? text : text + "-" + std::to_string(interval.most);
}

Interval usual_interval(std::optional<DayNumber> hatched, DayNumber today) {
  constexpr int kFirstYear = 365;
  if (hatched && today - *hatched < kFirstYear) return {5, 7, true};
  return {10, 14, true};
}

bool is_to_be_fed(Meal state) {
  return state == Meal::due || state == Meal::overdue || state == Meal::none_yet;
}

bool is_fasting(const AnimalFacts& facts, DayNumber day) {
  return facts.fast && facts.fast->from <= day && day <= facts.fast->to;
}

bool is_gravid(const AnimalFacts& facts, const Limits& limits, DayNumber day) {
  return facts.gravid && day - *facts.gravid <= limits[Limit::gravid_days];
}

bool rests_after_meal(const AnimalFacts& facts, const Limits& limits, const Moment& moment) {
  if (!facts.meal_minute) return false;
  const Instant now = moment.now ? *moment.now : moment.today * kDay + kDay / 2;
  return now - *facts.meal_minute * kMinute < limits[Limit::meal_rest_hours] * kHour;
}

bool under_treatment(const AnimalFacts& facts, const Limits& limits, DayNumber today) {
  // A dose that is to be repeated and is not: for a week it is late, then the course is over or forgotten.
  constexpr int kLate = 7;
  for (const Course& course : facts.courses) {
    const int lasts = course.repeat_days > 0 ? course.repeat_days + kLate : limits[Limit::treatment_days];
    if (today - course.day <= lasts) return true;
  }
  return false;
}

MealState meal_state(const AnimalFacts& facts, const Limits& limits, const Moment& moment) {
  if (facts.check_tub) return {Meal::contradicted, moment.tonight - *facts.check_tub};
  if (facts.open_offer) return {Meal::waits, moment.tonight - *facts.open_offer};
  if (facts.opaque && moment.today - *facts.opaque <= limits[Limit::opaque_days])
    return {Meal::opaque, moment.today - *facts.opaque};
  if (facts.regurgitated && moment.tonight - *facts.regurgitated < limits[Limit::regurgitation_rest_days])
    return {Meal::rests, moment.tonight - *facts.regurgitated};
  if (is_fasting(facts, moment.tonight)) return {Meal::fasts, moment.tonight - facts.fast->from};
  if (limits[Limit::feed_gravid] == 0 && is_gravid(facts, limits, moment.today))
    return {Meal::gravid, moment.today - *facts.gravid};
  if (!facts.last_meal) return {Meal::none_yet, facts.registered ? moment.tonight - *facts.registered : 0};
  const int since = moment.tonight - *facts.last_meal;
  if (since > facts.interval.most) return {Meal::overdue, since - facts.interval.most};
  if (since >= facts.interval.least) return {Meal::due, since - facts.interval.least};
  return {Meal::early, facts.interval.least - since};
}

int refusals_off_feed(const AnimalFacts& facts, const Limits& limits) {
  const int usual = limits[Limit::refusals];
  if (facts.usual_refusals) return std::max(usual, *facts.usual_refusals + 1);
  return facts.never_refuses ? std::min(usual, 2) : usual;
}

std::vector<DueLine> due_for(const AnimalFacts& facts, const Limits& limits, const Moment& moment) {
  std::vector<DueLine> out;
  if (facts.check_tub) {
    out.push_back({Due::check_tub, moment.tonight - *facts.check_tub,
                   "one account says it ate, another that it refused: look, and scan what you see"});
  }
  if (facts.caution_night && moment.tonight - *facts.caution_night <= kNightsWatched &&
      facts.caution == "perhaps-fed-twice") {
    out.push_back({Due::leave_alone, moment.tonight - *facts.caution_night,
                   "perhaps fed twice: leave alone, watch for regurgitation"});
  }
  add_health_lines(facts, limits, moment, out);
  if (facts.open_offer) {
    const int since = moment.tonight - *facts.open_offer;
    out.push_back({Due::open_offer, since,
                   since <= 0 ? "food is in the tub: look in the morning"
                              : "food is in the tub: look; gone is `ate`, still there is `leftover`"});
  }
  add_body_lines(facts, limits, moment, out);
  add_look_again(facts, moment, out);
  add_meal_line(facts, limits, moment, out);
  return out;
}

}  // namespace rackside::core
