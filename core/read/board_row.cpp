// What the day's list reads of one animal.
#include <algorithm>

#include "core/genetics/catalogue.h"
#include "core/husbandry/signs.h"
#include "core/read/due_board.h"
#include "core/read/season_list.h"

namespace rackside::core {
namespace {

/// Nothing before this is read of an animal's accounts, but for its habits.
constexpr Instant kRead = 400 * kDay;
constexpr Instant kHabit = 730 * kDay;
constexpr Instant kOpaqueRead = 100 * kDay;
constexpr Instant kTreatmentRead = 120 * kDay;
constexpr int kNightsRead = 10;
constexpr int kNightsOfRun = 60;
/// So long after hatching an animal may not have shed yet: 7 to 14 days is usual (common practice, no source).
constexpr DayNumber kHatchlingDays = 60;
/// From so many refusals on, the habit of two years is worth reading.
constexpr int kHabitWanted = 2;
/// Between opaque and shed an animal is not expected to eat; without a shed it is so long.
constexpr DayNumber kOpaqueRefuses = 21;

struct Heard {
  Kind kind = Kind::unknown;
  Instant at = 0;
  EventRow event = 0;
};

class RowReader {
 public:
  RowReader(Reader& reader, const CareSettings& settings, Thing animal, Instant now)
      : reader_(reader), zone_(reader.settings().zone), settings_(settings), animal_(animal), now_(now) {
    row_.animal = animal;
    auto query = reader.book().database().prepare(
        "SELECT kind, at, event FROM account WHERE subject = ? AND at >= ? ORDER BY at DESC, event DESC");
    query.bind(animal, now - kRead);
    while (query.step()) take(Heard{static_cast<Kind>(query.integer(0)), query.integer(1), query.integer(2)});
  }

  BoardRow read() {
    read_register();
    read_nights();
    read_skin();
    read_look();
    read_season();
    read_weights();
    read_health();
    return std::move(row_);
  }

 private:
  void take(const Heard& account) {
    const KindClass sort = info_of(account.kind).kind_class;
    const bool at_tub = sort == KindClass::observation || sort == KindClass::move;
    if (at_tub && !row_.facts.seen) row_.facts.seen = zone_.day_of(account.at);
    switch (account.kind) {
      case Kind::fed:
      case Kind::ate:
        meals_.push_back(account);
        break;
      case Kind::refused:
      case Kind::offered:
      case Kind::leftover:
      case Kind::cleaned:
      case Kind::watered:
        break;
      default:
        rare_.push_back(account);
    }
  }

  const Heard* newest(std::initializer_list<Kind> kinds) const {
    const auto found = std::find_if(rare_.begin(), rare_.end(), [&](const Heard& account) {
      return std::find(kinds.begin(), kinds.end(), account.kind) != kinds.end();
    });
    return found == rare_.end() ? nullptr : &*found;
  }

  std::optional<DayNumber> day_of(const Heard* account) const {
    return account ? std::optional(zone_.day_of(account->at)) : std::nullopt;
  }

  void read_register() {
    if (const auto source = reader_.field_source(animal_, "registered"))
      row_.facts.registered = zone_.day_of(reader_.line(*source).at);
    if (!row_.facts.seen) row_.facts.seen = row_.facts.registered;
    const Named named = reader_.named(animal_);
    row_.code = named.code;
    row_.label = named.label;
    row_.every = reader_.field(animal_, "every");
    row_.hatched = reader_.field(animal_, "hatched");
    row_.prey = reader_.field(animal_, "prey");
    row_.species = genetics::plain_name(reader_.field(animal_, "species"));
    row_.sex = reader_.field(animal_, "sex");
    row_.plan = genetics::plain_name(reader_.field(animal_, "plan"));
    row_.facts.fast = parse_fast(reader_.field(animal_, "fast"));
  }

  // ---- food

  /// Nights in which it was opaque, and not yet shed.
  bool was_opaque(DayNumber night) const {
    for (std::size_t i = rare_.size(); i-- > 0;) {
      if (rare_[i].kind != Kind::opaque) continue;
      const DayNumber from = zone_.day_of(rare_[i].at);
      DayNumber to = from + kOpaqueRefuses;
      for (std::size_t later = i; later-- > 0;) {
        if (rare_[later].kind == Kind::shed) {
          to = std::min(to, zone_.day_of(rare_[later].at));
          break;
        }
      }
      if (from <= night && night <= to) return true;
    }
    return false;
  }

  void read_nights() {
    auto nights = reader_.nights(animal_, kNightsRead);
    const bool only_refused =
        nights.size() == kNightsRead && std::all_of(nights.begin(), nights.end(), [](const auto& one) {
          return one.outcome == "refused" || one.outcome == "offered-lapsed";
        });
    if (only_refused) nights = reader_.nights(animal_, kNightsOfRun);
    AnimalFacts& facts = row_.facts;
    for (const NightOutcome& night : nights) {
      const bool newest = !facts.last_meal && facts.refusals == 0 && !facts.check_tub && !facts.open_offer;
      if (night.offer_open && newest) facts.open_offer = night.night.number;
      if (night.outcome == "check-tub" && newest) facts.check_tub = night.night.number;
      if (night.outcome == "refused" && !facts.last_meal && !was_opaque(night.night.number)) {
        ++facts.refusals;
        if (!facts.last_refusal) facts.last_refusal = night.night.number;
      }
      if (night.outcome == "ate" && !facts.last_meal) {
        facts.last_meal = night.night.number;
        facts.meal_minute = static_cast<int>(night.last_at / kMinute);
        facts.servings = static_cast<int>(night.amount);
        facts.caution = night.caution;
        if (!night.caution.empty()) facts.caution_night = night.night.number;
      }
    }
    if (facts.refusals >= kHabitWanted) read_habit();
  }

  /// Two years of nights, each by its last account: what disagrees within a night matters little here.
  void read_habit() {
    const int start = reader_.settings().night_start_minute;
    std::vector<std::pair<DayNumber, bool>> nights;
    auto query = reader_.book().database().prepare(
        "SELECT kind, at FROM account WHERE subject = ? AND at >= ? ORDER BY at, event");
    query.bind(animal_, now_ - kHabit);
    while (query.step()) {
      const Kind kind = static_cast<Kind>(query.integer(0));
      const bool ate = kind == Kind::fed || kind == Kind::ate;
      if (!ate && kind != Kind::refused && kind != Kind::leftover) continue;
      const DayNumber night = night_of(zone_, start, query.integer(1)).number;
      if (!nights.empty() && nights.back().first == night)
        nights.back().second = ate;
      else if (ate || !was_opaque(night))
        nights.emplace_back(night, ate);
    }
    std::vector<bool> outcomes;
    for (const auto& [night, ate] : nights) outcomes.push_back(ate);
    const RefusalHabit habit = refusal_habit(outcomes);
    row_.facts.usual_refusals = usual_refusals(habit);
    row_.facts.never_refuses = never_refuses(habit);
  }

  // ---- skin

  struct Shed {
    Instant at = 0;
    bool stuck = false;
    bool cleared = false;  ///< no shed, only that an earlier one is off
  };

  std::vector<Shed> sheds() {
    std::vector<Shed> out;
    auto query = reader_.book().database().prepare(
        "SELECT at, outcome FROM matter WHERE rule = ? AND subject = ? ORDER BY at DESC, lead DESC");
    query.bind(static_cast<int>(RuleId::shed), animal_);
    while (query.step()) out.push_back({query.integer(0), query.text(1) == "stuck", query.text(1) == "cleared"});
    return out;
  }

  void read_skin() {
    std::vector<DayNumber> days;
    bool cleared = false;
    for (const Shed& shed : sheds()) {
      const DayNumber day = zone_.day_of(shed.at);
      cleared = cleared || shed.cleared;
      if (shed.cleared) continue;
      if (shed.stuck && !cleared && !row_.facts.stuck) row_.facts.stuck = day;
      if (now_ - shed.at <= kHabit) days.push_back(day);
      if (!row_.facts.shed) row_.facts.shed = day;
    }
    std::reverse(days.begin(), days.end());
    if (const auto habit = shed_habit(days)) {
      row_.facts.shed_usual = habit->usual;
      row_.facts.shed_latest = habit->latest;
    }
    const Heard* seen = newest({Kind::opaque, Kind::shed});
    if (seen && seen->kind == Kind::opaque && now_ - seen->at <= kOpaqueRead)
      row_.facts.opaque = zone_.day_of(seen->at);
  }

  // ---- look

  struct Look {
    Instant at = 0;
    bool sure = true;
  };

  /// Newest first: what eyes made of its look. What it was bought as, or must be by its parents, is none.
  std::vector<Look> looks() const {
    std::vector<Look> out;
    for (const Heard& one : rare_) {
      if (one.kind != Kind::says) continue;
      const Value own = reader_.book().log().event_of(one.event)->own;
      const std::string_view state = own.text("state");
      const std::string_view basis = own.text("basis");
      const bool by_eye = basis != "parents" && basis != "bought" && basis != "proven" && basis != "lab";
      if (!by_eye || (state != "visual" && state != "normal" && state != "unseen")) continue;
      out.push_back({one.at, own.text("certainty", "sure") == "sure" && own.find("or") == nullptr});
    }
    return out;
  }

  void read_look() {
    const auto hatched = hatched_day(row_.hatched);
    if (!hatched) return;
    const std::vector<Look> all = looks();
    const auto unsure = std::find_if(all.begin(), all.end(), [](const Look& one) { return !one.sure; });
    if (unsure == all.end()) return;
    const DayNumber day = zone_.day_of(unsure->at);
    if (day - *hatched > kHatchlingDays) return;
    std::optional<Instant> shed_after;
    for (const Shed& shed : sheds()) {
      if (shed.cleared) continue;
      if (shed.at < unsure->at) return;  // it had shed before
      shed_after = shed.at;
    }
    if (shed_after && all.front().at > *shed_after) return;
    row_.facts.unsure_look = day;
  }

  // ---- season and weight

  void read_season() {
    const Heard* laid = newest({Kind::laid});
    row_.facts.laid = day_of(laid);
    const Heard* gravid = newest({Kind::gravid, Kind::ovulated});
    if (gravid && (!laid || gravid->at > laid->at)) row_.facts.gravid = day_of(gravid);
    if (row_.sex != "male") row_.season = season_record(season_facts());
  }

  /// A whole life where she laid before, for how long each step took; else what was read anyway.
  std::vector<SeasonFact> season_facts() {
    if (has_laid()) return facts_of_season(reader_, animal_);
    std::vector<SeasonFact> out;
    for (std::size_t i = rare_.size(); i-- > 0;)
      if (tells_of_season(rare_[i].kind)) out.push_back({zone_.day_of(rare_[i].at), rare_[i].kind});
    return out;
  }

  bool has_laid() {
    auto query = reader_.book().database().prepare("SELECT 1 FROM matter WHERE rule = ? AND subject = ? LIMIT 1");
    return query.bind(static_cast<int>(RuleId::laying), animal_).step();
  }

  bool is_full(Instant at) const {
    const Instant rest = settings_.limits[Limit::meal_rest_hours] * kHour;
    return std::any_of(meals_.begin(), meals_.end(),
                       [&](const Heard& meal) { return meal.at <= at && at - meal.at < rest; });
  }

  void read_weights() {
    const Heard* laid = newest({Kind::laid});
    std::vector<Weighing> weighings;
    for (std::size_t i = rare_.size(); i-- > 0;) {
      const Heard& one = rare_[i];
      // The baseline starts anew where she laid.
      if (one.kind != Kind::weighed || (laid && one.at <= laid->at)) continue;
      const auto tenths = reader_.book().log().event_of(one.event)->own.number("grams_tenths");
      weighings.push_back(
          {zone_.day_of(one.at), static_cast<int>(std::clamp<std::int64_t>(tenths, 0, 10'000'000)), is_full(one.at)});
    }
    const auto trend = weight_trend(weighings, settings_.limits[Limit::weight_peak_days]);
    if (!trend) return;
    row_.facts.weighed = trend->day;
    row_.facts.grams_tenths = trend->now;
    row_.facts.peak_tenths = trend->peak;
    row_.facts.peak_day = trend->peak_day;
    row_.facts.week_tenths = trend->week;
  }

  // ---- health

  void read_health() {
    for (const Heard& one : rare_) {
      if (one.kind == Kind::regurgitated && !row_.facts.regurgitated) {
        const DayNumber day = zone_.day_of(one.at);
        if (!row_.facts.last_meal || *row_.facts.last_meal <= day) row_.facts.regurgitated = day;
      }
    }
    const Heard* well = newest({Kind::well});
    const Heard* ill = newest({Kind::ill, Kind::well});
    if (ill && ill->kind == Kind::ill) read_illness(well ? well->at : 0);
    for (const Heard& one : rare_) {
      if (one.kind != Kind::treated || now_ - one.at > kTreatmentRead || (well && one.at <= well->at)) continue;
      const auto event = reader_.book().log().event_of(one.event);
      Course course{.remedy = std::string(event->own.text("with")), .day = zone_.day_of(one.at)};
      course.repeat_days = static_cast<int>(std::clamp<std::int64_t>(event->own.number("repeat_days"), 0, 999));
      auto& courses = row_.facts.courses;
      const bool known = std::any_of(courses.begin(), courses.end(),
                                     [&](const Course& other) { return other.remedy == course.remedy; });
      if (!known) courses.push_back(std::move(course));
    }
  }

  /// Since the first account that it is ill after it was last well; the signs are the newest that were said.
  void read_illness(Instant well) {
    for (const Heard& one : rare_) {
      if (one.kind != Kind::ill || one.at < well) continue;
      row_.facts.ill = zone_.day_of(one.at);
      if (row_.facts.signs.empty())
        row_.facts.signs = mend_text(reader_.book().log().event_of(one.event)->own.text("signs"));
    }
  }

  Reader& reader_;
  const Zone& zone_;
  const CareSettings& settings_;
  Thing animal_;
  Instant now_;
  std::vector<Heard> meals_;  ///< of the span that is read, newest first
  std::vector<Heard> rare_;   ///< all but food and the tub, newest first
  BoardRow row_;
};

}  // namespace

BoardRow work_out(Reader& reader, const CareSettings& settings, Thing animal, Instant now) {
  return RowReader(reader, settings, animal, now).read();
}

}  // namespace rackside::core
