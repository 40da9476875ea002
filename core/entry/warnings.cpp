#include "core/entry/warnings.h"

#include <algorithm>

#include "core/entry/shapes.h"
#include "core/husbandry/plan.h"

namespace rackside::core {
namespace {

constexpr const char* kWrong = ": wrong animal, or wrong record? Saved as you said";
/// Later than this after the last eggs, a laying begins anew.
constexpr Instant kSameSeason = 30 * kDay;
constexpr Instant kSameEggs = 48 * kHour;
/// A change of weight by more than a fifth is rather another animal (common practice, no source).
constexpr std::int64_t kFifth = 5;
/// More than this is asked about: of the first two months, of the first year, of any snake (common practice, no
/// source).
constexpr std::int64_t kMostNewbornTenths = 5'000;
constexpr std::int64_t kMostFirstYearTenths = 50'000;
constexpr std::int64_t kMostTenths = 1'500'000;

bool gives_food(Kind kind) {
  return kind == Kind::fed || kind == Kind::offered;
}

bool is_of_females(Kind kind) {
  return kind == Kind::laid || kind == Kind::ovulated || kind == Kind::gravid || kind == Kind::palpated;
}

const Seen* newest(const Resident& one, std::initializer_list<Kind> kinds) {
  const auto found = std::find_if(one.recent.begin(), one.recent.end(), [&](const Seen& seen) {
    return std::find(kinds.begin(), kinds.end(), seen.kind) != kinds.end();
  });
  return found == one.recent.end() ? nullptr : &*found;
}

bool this_night(const Scene& scene, const Seen* seen) {
  return seen && seen->at >= scene.night.start && seen->at < scene.night.end;
}

std::string days(Instant span) {
  const Instant whole = span / kDay;
  return whole <= 0 ? "less than a day" : std::to_string(whole) + (whole == 1 ? " day" : " days");
}

std::string nights(int count) {
  return std::to_string(count) + (count == 1 ? " night" : " nights");
}

class Warner {
 public:
  Warner(const Scene& scene, const Entry& entry, std::vector<std::string>& warnings, std::vector<std::string>& notices)
      : scene_(scene), entry_(entry), warnings_(warnings), notices_(notices) {}

  void of_scene(std::size_t told) {
    if (!scene_.known)
      warnings_.push_back("this book does not know " + scene_.code +
                          " yet: saved, and bound when its registration comes. Sync first if another device made it");
    if (scene_.known && scene_.is_place && told == 0)
      warnings_.push_back("by the book nobody is at " + scene_.scanned.label +
                          ": saved for the place, the merged log says whose it was");
    if (!scene_.quarantine_before.empty())
      warnings_.push_back("your last entry was in quarantine, at " + scene_.quarantine_before +
                          ": wash and change before you touch this one. Quarantine comes last in the walk");
  }

  void of_animal(const Resident& one) {
    of_fate(one);
    if (is_of_females(entry_.kind) && one.sex == "male")
      warnings_.push_back(one.animal.label + " is recorded as male, and " + event_text(entry_.kind, entry_.own) +
                          kWrong);
    if (gives_food(entry_.kind)) of_food(one);
    if (entry_.kind == Kind::fed || entry_.kind == Kind::refused) of_night(one);
    if (entry_.kind == Kind::laid) of_eggs(one);
    if (entry_.kind == Kind::treated) of_treatment(one);
    if (entry_.kind == Kind::weighed) of_weight(one);
    if (entry_.kind == Kind::shed) of_shed(one);
    of_rest(one);
  }

  void of_pair(const Resident& visitor, const Resident& host) {
    if (visitor.code == host.code) warnings_.push_back(host.animal.label + " was paired with itself" + kWrong);
    const bool known = visitor.sex == "male" || visitor.sex == "female";
    if (known && visitor.sex == host.sex && visitor.code != host.code)
      warnings_.push_back("both " + visitor.animal.label + " and " + host.animal.label + " are recorded as " +
                          host.sex + kWrong);
    if (const Lodging* visit = visitor.visit(); visit && visit->place != (host.home() ? host.home()->place : 0))
      warnings_.push_back(visitor.animal.label + " was with another by the book, and no separation was recorded");
  }

 private:
  void of_fate(const Resident& one) {
    const bool is_fate = info_of(entry_.kind).kind_class == KindClass::fate;
    if (one.gone) {
      const std::string word = one.gone->kind == Kind::died ? "dead" : "gone";
      warnings_.push_back("by the book " + one.animal.label + " is " + word + (is_fate ? " already" : kWrong));
    } else if (one.sold && !is_fate) {
      notices_.push_back(one.animal.label + " is sold, and still here");
    }
    const bool leaves = entry_.kind == Kind::sold || entry_.kind == Kind::reserved || entry_.kind == Kind::left;
    if (leaves && (one.facts.ill || under_treatment(one.facts, scene_.limits, scene_.day)))
      warnings_.push_back(one.animal.label + (one.facts.ill ? " looks unwell" : " is under treatment") +
                          ": it may not be sold or shipped before a veterinarian says so. Saved as you said");
  }

  void of_food(const Resident& one) {
    if (scene_.found.size() > 1 || one.company)
      warnings_.push_back("two animals are together here: separate them before anybody feeds, snakes eat snakes");
    if (one.last_night && one.last_night->caution == "perhaps-fed-twice" &&
        scene_.night.number - one.last_night->night.number < 3)
      warnings_.push_back(one.animal.label + " was perhaps fed twice: leave it alone, watch for regurgitation");
    const MealState meal = meal_state(one.facts, scene_.limits, scene_.moment);
    if (meal.state == Meal::rests)
      warnings_.push_back(one.animal.label + " regurgitated " + nights(meal.days) + " ago: it should rest about " +
                          std::to_string(scene_.limits[Limit::regurgitation_rest_days]) +
                          " days (rule of thumb; ask a veterinarian)");
    if (meal.state == Meal::fasts)
      warnings_.push_back(one.animal.label + " fasts on purpose until " + date_text(one.facts.fast->to) + " (" +
                          one.facts.fast->why + "): saved as you said");
    // A second serving of one night is asked about, not called early.
    if (meal.state == Meal::early && *one.facts.last_meal != scene_.night.number)
      notices_.push_back("early: " + one.animal.label + " is due in " + nights(meal.days));
  }

  /// After a meal nobody should handle it.
  void of_rest(const Resident& one) {
    const bool handled = entry_.kind == Kind::paired || entry_.kind == Kind::weighed || entry_.kind == Kind::moved ||
                         entry_.kind == Kind::palpated || entry_.kind == Kind::sexed;
    if (!handled || !rests_after_meal(one.facts, scene_.limits, scene_.moment)) return;
    const std::string ate =
        one.animal.label + " ate less than " + std::to_string(scene_.limits[Limit::meal_rest_hours]) + " hours ago";
    if (entry_.kind == Kind::weighed)
      notices_.push_back(ate + ": this weight is kept, and does not count for its trend");
    else
      warnings_.push_back(ate + ": handled with a full belly it may regurgitate (rule of thumb). Saved as you said");
  }

  void of_night(const Resident& one) {
    const Seen* meal = newest(one, {Kind::fed, Kind::ate});
    const Seen* refusal = newest(one, {Kind::refused, Kind::leftover});
    if (entry_.kind == Kind::fed && this_night(scene_, refusal) && !this_night(scene_, meal))
      notices_.push_back(one.animal.label + " refused earlier this night: it took it after all");
    if (entry_.kind == Kind::refused && this_night(scene_, meal) && entry_.relation != Relation::replaces)
      warnings_.push_back(one.animal.label +
                          " was recorded as fed this night; from now it counts as refused. If the meal was a wrong "
                          "entry, write “refused replaces”");
  }

  void of_eggs(const Resident& one) {
    const Seen* eggs = newest(one, {Kind::laid});
    if (eggs && scene_.at - eggs->at >= kSameEggs && scene_.at - eggs->at < kSameSeason)
      warnings_.push_back(one.animal.label + " laid " + days(scene_.at - eggs->at) +
                          " ago: eggs this late are a reason to have a veterinarian look at her");
  }

  void of_treatment(const Resident& one) {
    const Seen* dose = newest(one, {Kind::treated});
    if (dose && scene_.at - dose->at < kDay)
      warnings_.push_back(one.animal.label + " was treated " + days(scene_.at - dose->at) +
                          " ago already: both doses are believed given");
    if (one.dose_in_doubt)
      warnings_.push_back(one.animal.label + ": two accounts " + days(scene_.at - *one.dose_in_doubt) +
                          " ago may be of one dose or of two. Ask before you give another");
  }

  void of_weight(const Resident& one) {
    const std::int64_t now = entry_.own.number("grams_tenths");
    if (const std::int64_t most = most_tenths(one); now > most)
      warnings_.push_back(shapes::said_grams(now) + " is a lot for " + one.animal.label + age_text(one) +
                          ": grams or kilograms, and is it this animal? Saved as you said; `weighed` with `replaces` "
                          "corrects it");
    if (!one.last_grams_tenths || *one.last_grams_tenths <= 0) return;
    if (std::abs(now - *one.last_grams_tenths) * kFifth > *one.last_grams_tenths)
      warnings_.push_back(one.animal.label + " weighed " + shapes::said_grams(*one.last_grams_tenths) +
                          " last time: wrong animal, or the scale? Saved as you said");
  }

  std::int64_t most_tenths(const Resident& one) const {
    constexpr DayNumber kNewborn = 60;
    constexpr DayNumber kFirstYear = 365;
    if (!one.hatched) return kMostTenths;
    const DayNumber age = scene_.day - *one.hatched;
    return age <= kNewborn ? kMostNewbornTenths : age <= kFirstYear ? kMostFirstYearTenths : kMostTenths;
  }

  std::string age_text(const Resident& one) const {
    if (!one.hatched || scene_.day < *one.hatched) return {};
    return ", hatched " + days((scene_.day - *one.hatched) * kDay) + " ago";
  }

  void of_shed(const Resident& one) {
    const Seen* shed = newest(one, {Kind::shed});
    if (shed && scene_.at - shed->at < 7 * kDay)
      notices_.push_back("a shed was recorded " + days(scene_.at - shed->at) +
                         " ago: both are one shed, on the earlier day");
  }

  const Scene& scene_;
  const Entry& entry_;
  std::vector<std::string>& warnings_;
  std::vector<std::string>& notices_;
};

}  // namespace

void warn_of(const Scene& scene, const Entry& entry, const std::vector<const Resident*>& told,
             std::vector<std::string>& warnings, std::vector<std::string>& notices) {
  Warner warner(scene, entry, warnings, notices);
  warner.of_scene(told.size());
  for (const Resident* one : told) warner.of_animal(*one);
  if (entry.kind == Kind::paired && told.size() == 2) warner.of_pair(*told[0], *told[1]);
  // Two residents of one tub would say the same twice.
  std::sort(warnings.begin(), warnings.end());
  warnings.erase(std::unique(warnings.begin(), warnings.end()), warnings.end());
}

}  // namespace rackside::core
