#include "core/husbandry/rotation.h"

#include <algorithm>

namespace rackside::core {
namespace {

constexpr int kRestAfterRegurgitation = 10;  // common practice, no source; a veterinarian decides
constexpr int kLongest = 365;

std::string days_text(int days) {
  return std::to_string(days) + (days == 1 ? " day" : " days");
}

std::string grams_text(std::int64_t tenths) {
  return std::to_string(tenths / 10) + " g";
}

/// Reasons that end a female's season, not only her day.
std::string why_done(const RotationPlan& plan, const RotationFacts& female, const VisitFacts& visit) {
  if (!female.is_here) return "not here any more";
  if (female.gravid && *female.gravid >= plan.since)
    return std::string(female.gravid_word) + " since " + date_text(*female.gravid);
  if (plan.locks > 0 && visit.locks >= plan.locks)
    return "has her " + std::to_string(visit.locks) + (visit.locks == 1 ? " lock" : " locks");
  return {};
}

class Adviser {
 public:
  Adviser(const RotationPlan& plan, const RotationFacts& male, std::span<const RotationFacts> females,
          std::span<const VisitFacts> visits, Instant now, const Zone& zone)
      : plan_(plan),
        male_(male),
        females_(females),
        visits_(visits),
        now_(now),
        today_(zone.day_of(now)),
        zone_(zone) {}

  RotationAdvice with(DayNumber since, bool locked) {
    const int days = today_ - since;
    const auto mate = index_of(*male_.company);
    const std::string ended = mate ? why_done(plan_, females_[*mate], visits_[*mate]) : std::string();
    if (!ended.empty()) {
      out_.why = "she " + (ended.starts_with("has") || ended.starts_with("not") ? ended : "is " + ended);
    } else if (days >= plan_.in_most) {
      out_.why = "with her for " + days_text(days);
    } else if (locked && days >= plan_.in_least) {
      out_.why = "locked, and with her for " + days_text(days);
    } else {
      out_.stays = male_.company;
      const int left = plan_.in_most - days;
      out_.why = "day " + std::to_string(days) + (locked ? ", locked" : "") + "; out in " + days_text(left) +
                 (locked || days >= plan_.in_least ? "" : " at the latest");
      return std::move(out_);
    }
    out_.out_of = male_.company;
    if (plan_.rest == 0) {
      choose(mate, out_.out_of);
    } else {
      out_.why += "; then " + days_text(plan_.rest) + " of rest";
    }
    return std::move(out_);
  }

  RotationAdvice alone(std::optional<std::size_t> last) {
    if (male_.last_visit && today_ - *male_.last_visit < plan_.rest) {
      out_.why = "he rests until " + date_text(*male_.last_visit + plan_.rest);
      return std::move(out_);
    }
    choose(last, std::nullopt);
    return std::move(out_);
  }

 private:
  std::optional<std::size_t> index_of(std::int64_t thing) const {
    for (std::size_t i = 0; i < females_.size(); ++i)
      if (females_[i].thing == thing) return i;
    return std::nullopt;
  }

  /// The next female in order who can be paired, beginning behind the last one.
  void choose(std::optional<std::size_t> last, std::optional<std::int64_t> from) {
    const std::string not_he = why_not(male_, now_, zone_);
    if (!not_he.empty()) {
      out_.why += (out_.why.empty() ? "" : "; ") + std::string("he stays alone: ") + not_he;
      return;
    }
    std::size_t ended = 0;
    for (std::size_t step = 1; step <= females_.size(); ++step) {
      const std::size_t i = ((last ? *last : females_.size() - 1) + step) % females_.size();
      const std::string done = why_done(plan_, females_[i], visits_[i]);
      ended += done.empty() ? 0 : 1;
      const std::string why = done.empty() ? why_not_now(i, from) : done;
      if (why.empty()) {
        out_.into = females_[i].thing;
        return;
      }
      out_.skipped.push_back({females_[i].thing, why});
    }
    out_.done = ended == females_.size();
    out_.why += (out_.why.empty() ? "" : "; ") +
                std::string(out_.done ? "all of his females are done" : "nobody can be paired today");
  }

  std::string why_not_now(std::size_t i, std::optional<std::int64_t> from) const {
    const RotationFacts& female = females_[i];
    if (from && female.thing == *from) return "he has just been with her";
    if (female.company && *female.company != male_.thing) return "another is with her";
    const std::string alone = why_not(female, now_, zone_);
    if (!alone.empty()) return alone;
    if (female.last_visit && today_ - *female.last_visit < plan_.female_rest)
      return "rests until " + date_text(*female.last_visit + plan_.female_rest);
    return {};
  }

  const RotationPlan& plan_;
  const RotationFacts& male_;
  std::span<const RotationFacts> females_;
  std::span<const VisitFacts> visits_;
  Instant now_;
  DayNumber today_;
  const Zone& zone_;
  RotationAdvice out_;
};

}  // namespace

std::string problem_of(const RotationPlan& plan) {
  if (plan.females.empty()) return "a rotation needs at least one female";
  if (plan.in_least < 1 || plan.in_most < plan.in_least || plan.in_most > kLongest)
    return "the days with a female are a range like 2-4, the first at most the second";
  if (plan.rest < 0 || plan.rest > kLongest || plan.female_rest < 0 || plan.female_rest > kLongest)
    return "a rest is 0 to 365 days";
  if (plan.locks < 0 || plan.locks > 100) return "the locks wanted are 0 (no matter how many) to 100";
  for (std::size_t i = 0; i < plan.females.size(); ++i)
    if (std::count(plan.females.begin(), plan.females.end(), plan.females[i]) > 1) return "a female stands twice in it";
  return {};
}

std::string why_not(const RotationFacts& facts, Instant now, const Zone& zone) {
  const DayNumber today = zone.day_of(now);
  if (!facts.is_here) return "not here any more";
  if (facts.treated) return "under treatment since " + date_text(*facts.treated);
  if (facts.opaque) return "opaque since " + date_text(*facts.opaque);
  if (facts.regurgitated && today - *facts.regurgitated < kRestAfterRegurgitation)
    return "brought its meal up on " + date_text(*facts.regurgitated);
  if (facts.last_meal && now - *facts.last_meal < kRestAfterMeal && now >= *facts.last_meal) {
    const Instant free = *facts.last_meal + kRestAfterMeal;
    return "ate " + date_text(zone.day_of(*facts.last_meal)) + ", leave alone until " + date_text(zone.day_of(free)) +
           " " + clock_text(zone.minute_of_day(free));
  }
  if (facts.grams_tenths && facts.least_grams_tenths && *facts.grams_tenths < *facts.least_grams_tenths)
    return "light: " + grams_text(*facts.grams_tenths) + ", at least " + grams_text(*facts.least_grams_tenths) +
           " wanted";
  return {};
}

RotationAdvice advise(const RotationPlan& plan, const RotationFacts& male, std::span<const RotationFacts> females,
                      std::span<const VisitFacts> visits, std::optional<DayNumber> with_since, bool locked_now,
                      std::optional<std::size_t> last_female, Instant now, const Zone& zone) {
  Adviser adviser(plan, male, females, visits, now, zone);
  if (male.company && with_since) return adviser.with(*with_since, locked_now);
  return adviser.alone(last_female);
}

}  // namespace rackside::core
