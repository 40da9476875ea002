#include "core/read/rotation_list.h"

#include <algorithm>

#include "core/genetics/catalogue.h"
#include "core/read/accounts.h"

namespace rackside::core {
namespace {

constexpr std::string_view kPrefix = "rotation/";
constexpr int kAfterRepeat = 7;
constexpr int kLeastTreatment = 14;

/// A visit that took place, open or ended.
struct Visit {
  Thing visitor = 0, host = 0, place = 0;
  Instant since = 0;
  std::optional<Instant> until;
};

/// Who lives where the visitor came to; where the book has nobody at home there, whom the entry named.
Thing host_of(Reader& reader, std::optional<Thing> partner, EventRow by, Thing visitor) {
  if (partner) return *partner;
  for (const std::string& code : reader.book().log().event_of(by)->of) {
    const auto other = reader.thing_of(code);
    if (other && *other != visitor) return *other;
  }
  return 0;
}

std::vector<Visit> visits_in(Reader& reader, Statement& query) {
  std::vector<Visit> out;
  std::vector<std::pair<std::optional<Thing>, EventRow>> hosts;
  while (query.step()) {
    out.push_back({query.integer(0), 0, query.integer(3), query.integer(1),
                   query.null(2) ? std::nullopt : std::optional<Instant>(query.integer(2))});
    hosts.emplace_back(query.null(4) ? std::nullopt : std::optional<Thing>(query.integer(4)), query.integer(5));
  }
  for (std::size_t i = 0; i < out.size(); ++i)
    out[i].host = host_of(reader, hosts[i].first, hosts[i].second, out[i].visitor);
  std::erase_if(out, [](const Visit& visit) { return visit.host == 0; });
  return out;
}

std::vector<Visit> visits_of(Reader& reader, Thing visitor) {
  auto query = reader.book().database().prepare(
      "SELECT animal, since, until, place, partner, by FROM stay WHERE animal = ? AND role = ? ORDER BY since");
  query.bind(visitor, static_cast<int>(Stay::Role::visiting));
  return visits_in(reader, query);
}

std::vector<Visit> open_visits(Reader& reader) {
  auto query = reader.book().database().prepare(
      "SELECT animal, since, until, place, partner, by FROM stay WHERE until IS NULL AND role = ?");
  query.bind(static_cast<int>(Stay::Role::visiting));
  return visits_in(reader, query);
}

/// The newest end of a visit to her, whoever came; nothing while nobody ever left.
std::optional<Instant> last_visit_to(Reader& reader, Thing host) {
  auto query = reader.book().database().prepare(
      "SELECT max(until) FROM stay WHERE partner = ? AND role = ? AND until IS NOT NULL");
  query.bind(host, static_cast<int>(Stay::Role::visiting));
  if (!query.step() || query.null(0)) return std::nullopt;
  return query.integer(0);
}

/// Locks that tell of both, from `from` on, before `until`.
int locks_between(Reader& reader, Thing a, Thing b, Instant from, Instant until) {
  auto query = reader.book().database().prepare(
      "SELECT count(DISTINCT x.event) FROM account x JOIN account y ON y.event = x.event AND y.subject = ?2 WHERE "
      "x.subject "
      "= ?1 AND x.kind = ?3 AND x.at >= ?4 AND x.at < ?5");
  query.bind(a, b, static_cast<int>(Kind::locked), from, until);
  return query.step() ? static_cast<int>(query.integer(0)) : 0;
}

class Gatherer {
 public:
  Gatherer(Reader& reader, Instant now)
      : reader_(reader), now_(now), zone_(reader.settings().zone), open_(open_visits(reader)) {}

  RotationFacts facts_of(Thing thing) {
    RotationFacts out{.thing = thing, .is_here = reader_.lives_here(thing)};
    for (const AccountFact& fact : accounts_of(reader_, thing)) take(out, fact.at, fact.kind, fact.row);
    if (out.treated && treated_until_ < zone_.day_of(now_)) out.treated.reset();
    treated_until_ = INT32_MIN;
    add_least_weight(out);
    for (const Visit& visit : open_) {
      if (visit.visitor == thing) out.company = visit.host;
      if (visit.host == thing) out.company = visit.visitor;
    }
    return out;
  }

  const std::vector<Visit>& open() const { return open_; }

 private:
  void take(RotationFacts& out, Instant at, Kind kind, EventRow row) {
    const DayNumber day = zone_.day_of(at);
    switch (kind) {
      case Kind::opaque:
        out.opaque = day;
        break;
      case Kind::shed:
        out.opaque.reset();
        break;
      case Kind::fed:
      case Kind::ate:
        out.last_meal = at;
        out.regurgitated.reset();
        break;
      case Kind::regurgitated:
        out.regurgitated = day;
        out.last_meal.reset();
        break;
      case Kind::weighed:
        out.grams_tenths = reader_.book().log().event_of(row)->own.number("grams_tenths");
        break;
      case Kind::treated: {
        const auto repeat =
            std::clamp<std::int64_t>(reader_.book().log().event_of(row)->own.number("repeat_days"), 0, 3650);
        if (!out.treated || treated_until_ < day) out.treated = day;
        treated_until_ = day + std::max(kLeastTreatment, repeat > 0 ? static_cast<int>(repeat) + kAfterRepeat : 0);
        break;
      }
      case Kind::ovulated:
      case Kind::gravid:
      case Kind::laid:
        out.gravid = day;
        out.gravid_word = kind == Kind::laid ? "laid" : kind == Kind::gravid ? "gravid" : "ovulated";
        break;
      default:
        break;
    }
  }

  void add_least_weight(RotationFacts& out) {
    const std::string sex = reader_.field(out.thing, "sex");
    if (sex == "male") return;
    const Value least = parse_strict(reader_.setting(least_weight_setting(reader_.field(out.thing, "species")))).value;
    if (least.as_int() && *least.as_int() > 0) out.least_grams_tenths = *least.as_int();
  }

  Reader& reader_;
  Instant now_;
  const Zone& zone_;
  std::vector<Visit> open_;
  DayNumber treated_until_ = INT32_MIN;
};

RotationPlan plan_from(Reader& reader, const Value& value) {
  RotationPlan plan;
  const auto days = [&](const char* key, int otherwise) { return static_cast<int>(value.number(key, otherwise)); };
  plan.in_least = days("in_least", plan.in_least);
  plan.in_most = days("in_most", plan.in_most);
  plan.rest = days("rest", plan.rest);
  plan.female_rest = days("female_rest", plan.female_rest);
  plan.locks = days("locks", plan.locks);
  parse_date(value.text("since"), plan.since);
  const Value* females = value.find("females");
  if (females && females->as_array())
    for (const Value& code : *females->as_array())
      if (const auto thing = code.as_string() ? reader.thing_of(*code.as_string()) : std::nullopt)
        plan.females.push_back(*thing);
  return plan;
}

RotationLine line_of(Reader& reader, Gatherer& gatherer, const Named& male, RotationPlan plan, Instant now) {
  const Zone& zone = reader.settings().zone;
  const Instant season = zone.first_instant_of(plan.since, 0);
  RotationLine line{.male = male, .plan = std::move(plan)};
  RotationFacts facts = gatherer.facts_of(male.thing);
  std::vector<RotationFacts> females;
  std::vector<VisitFacts> visits;
  const std::vector<Visit> past = visits_of(reader, male.thing);
  std::optional<DayNumber> with_since;
  std::optional<std::size_t> last;
  bool locked = false;
  Instant newest = INT64_MIN;
  for (const Thing female : line.plan.females) {
    RotationFacts her = gatherer.facts_of(female);
    if (const auto ended = last_visit_to(reader, female)) her.last_visit = zone.day_of(*ended);
    VisitFacts visit{.locks = locks_between(reader, male.thing, female, season, INT64_MAX)};
    for (const Visit& one : past) {
      if (one.host != female || one.since < season) continue;
      if (one.until) visit.last_ended = zone.day_of(*one.until);
      if (one.since >= newest) {
        newest = one.since;
        last = females.size();
      }
    }
    females.push_back(std::move(her));
    visits.push_back(visit);
  }
  for (const Visit& one : past) {
    if (one.until) facts.last_visit = zone.day_of(*one.until);
    if (one.until || one.since > now) continue;
    with_since = zone.day_of(one.since);
    locked = locks_between(reader, male.thing, one.host, one.since, INT64_MAX) > 0;
    line.out_place = reader.named(one.place);
  }
  line.advice = advise(line.plan, facts, females, visits, with_since, locked, last, now, zone);
  return line;
}

void word(Reader& reader, RotationLine& line, Instant now) {
  for (const Lodging& one : reader.lodgings_of(line.male.thing, now))
    if (one.role == Stay::Role::home) line.home = reader.named(one.place);
  if (line.advice.into)
    for (const Lodging& one : reader.lodgings_of(*line.advice.into, now))
      if (one.role == Stay::Role::home) line.into_place = reader.named(one.place);
  const auto at = [](const std::optional<Named>& place) { return place ? place->label : std::string("its tub"); };
  if (line.advice.stays) line.errand = "stays at " + at(line.out_place);
  if (line.advice.out_of) line.errand = "out of " + at(line.out_place);
  if (line.advice.into)
    line.errand += (line.errand.empty() ? "into " : ", into ") + at(line.into_place);
  else if (line.advice.out_of && line.home)
    line.errand += ", home to " + line.home->label;
}

}  // namespace

std::string rotation_setting(const std::string& male_code) {
  return std::string(kPrefix) + male_code;
}

std::string least_weight_setting(std::string_view species) {
  return "rotation-weight/" + genetics::plain_name(species);
}

int days_together(Reader& reader) {
  const Value days = parse_strict(reader.setting(kDaysTogetherSetting)).value;
  return days.as_int() && *days.as_int() > 0 && *days.as_int() <= 365 ? static_cast<int>(*days.as_int())
                                                                      : kUsualDaysTogether;
}

Value plan_value(Reader& reader, const RotationPlan& plan) {
  Value::Array females;
  for (const std::int64_t thing : plan.females) females.emplace_back(reader.named(thing).code);
  return Value::Object{{"females", std::move(females)},   {"in_least", plan.in_least},
                       {"in_most", plan.in_most},         {"rest", plan.rest},
                       {"female_rest", plan.female_rest}, {"locks", plan.locks},
                       {"since", date_text(plan.since)}};
}

std::optional<RotationPlan> rotation_plan(Reader& reader, Thing male) {
  const Value value = parse_strict(reader.setting(rotation_setting(reader.named(male).code))).value;
  if (!value.as_object()) return std::nullopt;
  RotationPlan plan = plan_from(reader, value);
  return problem_of(plan).empty() ? std::optional(std::move(plan)) : std::nullopt;
}

std::vector<PairNow> pairs_now(Reader& reader, Instant now) {
  const DayNumber today = reader.settings().zone.day_of(now);
  const int most = days_together(reader);
  std::vector<PairNow> out;
  for (const Visit& visit : open_visits(reader)) {
    if (visit.since > now) continue;
    PairNow pair{
        .visitor = reader.named(visit.visitor), .host = reader.named(visit.host), .place = reader.named(visit.place)};
    pair.since = reader.settings().zone.day_of(visit.since);
    pair.days = today - pair.since;
    pair.locks = locks_between(reader, visit.visitor, visit.host, visit.since, INT64_MAX);
    pair.separate = pair.days >= most && !rotation_plan(reader, visit.visitor);
    out.push_back(std::move(pair));
  }
  std::sort(out.begin(), out.end(), [](const PairNow& a, const PairNow& b) {
    if (a.since != b.since) return a.since < b.since;
    return compare_naturally(a.visitor.label, b.visitor.label) < 0;
  });
  return out;
}

std::vector<RotationLine> rotation_list(Reader& reader, Instant now) {
  std::vector<std::string> codes;
  {
    auto query =
        reader.book().database().prepare("SELECT key FROM setting WHERE key >= 'rotation/' AND key < 'rotation0'");
    while (query.step()) codes.emplace_back(query.text(0).substr(kPrefix.size()));
  }
  Gatherer gatherer(reader, now);
  std::vector<RotationLine> out;
  for (const std::string& code : codes) {
    const auto male = reader.thing_of(code);
    const auto plan = male ? rotation_plan(reader, *male) : std::nullopt;
    if (!plan || !reader.lives_here(*male)) continue;
    out.push_back(line_of(reader, gatherer, reader.named(*male), *plan, now));
    word(reader, out.back(), now);
  }
  std::sort(out.begin(), out.end(), [](const RotationLine& a, const RotationLine& b) {
    return compare_naturally(a.male.label, b.male.label) < 0;
  });
  return out;
}

}  // namespace rackside::core
