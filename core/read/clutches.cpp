#include "core/read/clutches.h"

#include <algorithm>
#include <set>
#include <tuple>

#include "core/read/accounts.h"
#include "core/read/season_list.h"
#include "core/read/young.h"

namespace rackside::core {
namespace {

constexpr Instant kSeason = 180 * kDay;
/// A clutch without a word for so long has ended, whatever was counted.
constexpr DayNumber kLongestIncubation = 200;

/// What the rule for layings believes, for the group that begins at that account.
void believe_laying(Reader& reader, Clutch& clutch) {
  auto query = reader.book().database().prepare(
      "SELECT detail, asks FROM matter WHERE rule = ? AND subject = ? AND at <= ? AND at > ? ORDER BY at DESC LIMIT 1");
  query.bind(static_cast<int>(RuleId::laying), clutch.dam.thing, clutch.laid_at, clutch.laid_at - 2 * kDay);
  if (!query.step()) return;
  const Value detail = parse_strict(query.text(0)).value;
  if (clutch.good || detail.number("good") + detail.number("slugs") > 0) {
    clutch.good = detail.number("good");
    clutch.slugs = detail.number("slugs");
  }
  clutch.eggs_in_doubt = query.integer(1) != 0;
}

void believe_hatching(Reader& reader, Clutch& clutch, Instant until) {
  auto query = reader.book().database().prepare(
      "SELECT amount, asks FROM matter WHERE rule = ? AND subject = ? AND at >= ? AND at < ?");
  query.bind(static_cast<int>(RuleId::hatching), clutch.dam.thing, clutch.laid_at, until);
  while (query.step()) {
    clutch.hatched += query.integer(0);
    clutch.hatched_in_doubt = clutch.hatched_in_doubt || query.integer(1) != 0;
  }
}

void take_egg(Reader& reader, Clutch& clutch, const AccountFact& fact) {
  const auto event = reader.book().log().event_of(fact.row);
  const DayNumber day = reader.settings().zone.day_of(fact.at);
  const std::int64_t number = event->own.number("egg");
  const std::int64_t count = std::clamp<std::int64_t>(event->own.number("count", 1), 0, kMostCounted);
  if (number > 0) {
    NumberedEgg& egg = clutch.eggs[number];
    auto& first = fact.kind == Kind::pipped ? egg.pipped : egg.hatched;
    if (!first) first = day;
  } else if (fact.kind == Kind::hatched) {
    clutch.unnumbered.push_back({day, count});
  } else {
    clutch.pipped = std::max(clutch.pipped, count);
  }
}

void take(Reader& reader, Clutch& clutch, const AccountFact& fact) {
  const auto optional_number = [](const Value& own, const char* key) {
    return own.find(key) ? std::optional(own.number(key)) : std::nullopt;
  };
  const DayNumber day = reader.settings().zone.day_of(fact.at);
  const auto event = reader.book().log().event_of(fact.row);
  if (fact.kind == Kind::candled)
    clutch.candlings.push_back({day, optional_number(event->own, "good"), optional_number(event->own, "bad")});
  if (fact.kind == Kind::incubated && event->own.find("celsius_tenths"))
    clutch.incubation.push_back({day, event->own.number("celsius_tenths")});
  if (fact.kind == Kind::pipped || fact.kind == Kind::hatched) take_egg(reader, clutch, fact);
}

void add_sires(Reader& reader, Clutch& clutch, const std::vector<AccountFact>& facts) {
  for (auto fact = facts.rbegin(); fact != facts.rend(); ++fact) {
    if (fact->kind != Kind::paired || fact->at > clutch.laid_at || fact->at < clutch.laid_at - kSeason) continue;
    for (const std::string& code : reader.book().log().event_of(fact->row)->of) {
      const auto other = reader.thing_of(code);
      const bool known = !other || *other == clutch.dam.thing ||
                         std::find(clutch.sires.begin(), clutch.sires.end(), *other) != clutch.sires.end();
      if (!known) clutch.sires.push_back(*other);
    }
  }
}

/// Accounts of eggs within two days of one another are one laying; the later of them that stand apart begin the next.
std::vector<Clutch> cut(Reader& reader, const Named& dam, const std::vector<AccountFact>& facts) {
  std::vector<Clutch> out;
  for (const AccountFact& fact : facts) {
    if (fact.kind != Kind::laid) continue;
    if (!out.empty() && fact.at - out.back().laid_at < 2 * kDay) continue;
    const auto event = reader.book().log().event_of(fact.row);
    Clutch clutch{.dam = dam,
                  .laying = reader.book().log().ref_of(fact.row),
                  .laid_at = fact.at,
                  .laid = reader.settings().zone.day_of(fact.at)};
    if (event->own.find("good")) {
      clutch.good = event->own.number("good");
      clutch.slugs = event->own.number("slugs");
    }
    out.push_back(std::move(clutch));
  }
  return out;
}

/// A recount names what it replaces: the young of a clutch keep their codes, however often its eggs are counted again.
void name_by_first_account(Reader& reader, Clutch& clutch, const std::vector<AccountFact>& facts, Instant until) {
  std::vector<EventRef> open;
  for (const AccountFact& fact : facts)
    if (fact.kind == Kind::laid && fact.at >= clutch.laid_at && fact.at < until)
      open.push_back(reader.book().log().ref_of(fact.row));
  std::set<EventRef> seen(open.begin(), open.end());
  Instant first = INT64_MAX;
  while (!open.empty()) {
    const EventRef ref = open.back();
    open.pop_back();
    if (reader.book().log().find(ref) == 0) continue;
    const StoryLine line = reader.line(ref);
    if (line.kind != Kind::laid || std::abs(line.at - clutch.laid_at) > 2 * kDay) continue;
    if (std::tie(line.at, ref) < std::tie(first, clutch.laying)) {
      first = line.at;
      clutch.laying = ref;
    }
    for (const Answer& answer : line.event->re)
      if (seen.insert(answer.event).second) open.push_back(answer.event);
  }
}

void add_by_hand(Reader& reader, Clutch& clutch) {
  std::vector<Thing> children;
  {
    auto query = reader.book().database().prepare("SELECT DISTINCT child FROM parent WHERE parent = ?");
    query.bind(clutch.dam.thing);
    while (query.step()) children.push_back(query.integer(0));
  }
  for (const Thing child : children) {
    DayNumber hatched = 0;
    if (!parse_date(reader.field(child, "hatched"), hatched)) continue;
    const bool of_it = hatched >= clutch.laid && hatched <= clutch.laid + kLongestIncubation;
    const bool known =
        std::any_of(clutch.young.begin(), clutch.young.end(), [&](const Named& one) { return one.thing == child; }) ||
        (clutch.group && clutch.group->thing == child);
    if (of_it && !known) clutch.by_hand.push_back(reader.named(child));
  }
}

void add_due(Clutch& clutch, const std::vector<CalendarLine>& calendar) {
  for (const CalendarLine& line : calendar) {
    const bool of_it = line.female.thing == clutch.dam.thing && line.expected.step == Step::laying_to_hatching &&
                       line.expected.since == clutch.laid;
    if (of_it) clutch.due = line.expected;
  }
}

std::vector<Clutch> clutches(Reader& reader, const Named& dam, DayNumber today,
                             const std::vector<CalendarLine>& calendar) {
  const std::vector<AccountFact> facts = accounts_of(
      reader, dam.thing, {Kind::laid, Kind::candled, Kind::incubated, Kind::pipped, Kind::hatched, Kind::paired});
  std::vector<Clutch> out = cut(reader, dam, facts);
  for (std::size_t i = 0; i < out.size(); ++i) {
    const Instant until = i + 1 < out.size() ? out[i + 1].laid_at : INT64_MAX;
    for (const AccountFact& fact : facts)
      if (fact.at >= out[i].laid_at && fact.at < until) take(reader, out[i], fact);
    believe_laying(reader, out[i]);
    believe_hatching(reader, out[i], until);
    std::int64_t numbered = 0;
    for (const auto& [number, egg] : out[i].eggs) numbered += egg.pipped || egg.hatched ? 1 : 0;
    out[i].pipped = std::max({out[i].pipped, numbered, out[i].hatched});
    add_sires(reader, out[i], facts);
    name_by_first_account(reader, out[i], facts, until);
    add_young(reader, out[i]);
    add_by_hand(reader, out[i]);
    if (out[i].waiting() > 0 && today - out[i].laid <= kLongestIncubation) add_due(out[i], calendar);
  }
  std::reverse(out.begin(), out.end());
  return out;
}

}  // namespace

std::int64_t Clutch::waiting() const {
  std::int64_t left = good.value_or(0);
  for (const Candling& one : candlings) {
    if (one.good)
      left = *one.good;
    else if (one.bad)
      left -= *one.bad;
  }
  return std::max<std::int64_t>(0, left - hatched);
}

std::vector<Clutch> clutches_of(Reader& reader, Thing dam, Instant now) {
  return clutches(reader, reader.named(dam), reader.settings().zone.day_of(now), season_list(reader, now));
}

std::vector<Clutch> clutches_without_windows(Reader& reader, Thing dam, Instant now) {
  return clutches(reader, reader.named(dam), reader.settings().zone.day_of(now), {});
}

std::vector<Clutch> all_clutches(Reader& reader, Instant now) {
  std::vector<Thing> dams;
  {
    // The rare kinds have an index: no life is read to find who ever laid.
    auto query = reader.book().database().prepare(
        "SELECT DISTINCT subject FROM account INDEXED BY account_rare WHERE (kind BETWEEN 20 AND 21 OR kind BETWEEN 39 "
        "AND "
        "42) AND kind = ?");
    query.bind(static_cast<int>(Kind::laid));
    while (query.step()) dams.push_back(query.integer(0));
  }
  const std::vector<CalendarLine> calendar = season_list(reader, now);
  std::vector<Clutch> out;
  for (const Thing dam : dams)
    for (Clutch& one : clutches(reader, reader.named(dam), reader.settings().zone.day_of(now), calendar))
      out.push_back(std::move(one));
  std::stable_sort(out.begin(), out.end(), [](const Clutch& a, const Clutch& b) { return a.laid_at > b.laid_at; });
  return out;
}

std::string clutch_name(const Clutch& clutch) {
  return clutch.dam.label + " of " + date_text(clutch.laid);
}

}  // namespace rackside::core
