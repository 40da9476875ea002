#include "core/read/asked.h"

#include <algorithm>
#include <set>

#include "core/read/clutches.h"
#include "core/read/inspection.h"

namespace rackside::core {
namespace {

constexpr int kNightsRead = 400;

std::optional<Named> place_of(Reader& reader, Thing animal, Instant now) {
  const auto lodgings = reader.lodgings_of(animal, now);
  return lodgings.empty() ? std::nullopt : std::optional(reader.named(lodgings.front().place));
}

/// The newest account of a kind that no later one of the ending kinds undid, as a remark.
void remark(Reader& reader, Thing animal, std::string& out, Kind kind, std::initializer_list<Kind> kinds,
            std::string_view word) {
  const auto line = reader.latest(animal, kinds);
  if (line && line->kind == kind)
    out +=
        (out.empty() ? "" : ", ") + std::string(word) + " since " + date_text(reader.settings().zone.day_of(line->at));
}

std::int64_t count_of(const Value& item) {
  return std::clamp<std::int64_t>(item.number("count", 1), 1, kMostCounted);
}

using PreyCounts = std::map<std::string, std::int64_t>;

/// What one account of a meal says was eaten; `usual` where it says nothing.
PreyCounts items_of(const Event& event, const std::string& usual) {
  PreyCounts out;
  const Value* items = event.own.find("items");
  if (items && items->as_array())
    for (const Value& item : *items->as_array()) out[std::string(item.text("prey", usual))] += count_of(item);
  if (out.empty()) out[usual] = 1;
  return out;
}

/// One night's meal as the rule believes it: all its accounts where they are as many as the servings, else the newest
/// so many times.
PreyCounts eaten_in(Reader& reader, const NightOutcome& night, const std::string& usual) {
  std::vector<PreyCounts> meals;
  std::string offered = usual;
  for (const EventRef& ref : night.accounts) {
    const StoryLine line = reader.line(ref);
    if (line.kind == Kind::offered && line.event->own.find("items"))
      offered = items_of(*line.event, usual).begin()->first;
    if (line.kind == Kind::fed || line.kind == Kind::ate) meals.push_back(items_of(*line.event, offered));
  }
  PreyCounts out;
  if (meals.empty()) meals.push_back({{offered, 1}});
  if (static_cast<std::int64_t>(meals.size()) == night.amount) {
    for (const PreyCounts& meal : meals)
      for (const auto& [prey, count] : meal) out[prey] += count;
  } else {
    for (const auto& [prey, count] : meals.back()) out[prey] += count * std::max<std::int64_t>(1, night.amount);
  }
  return out;
}

std::set<DayNumber> nights_with_meals(Reader& reader, Thing animal, DayNumber from, DayNumber to) {
  const FoldSettings& settings = reader.settings();
  const Instant start = night_numbered(settings.zone, settings.night_start_minute, from).start;
  const Instant end = night_numbered(settings.zone, settings.night_start_minute, to).end;
  std::set<DayNumber> out;
  auto query =
      reader.book().database().prepare("SELECT at, kind FROM account WHERE subject = ? AND at >= ? AND at < ?");
  query.bind(animal, start, end);
  while (query.step()) {
    const Kind kind = static_cast<Kind>(query.integer(1));
    if (kind == Kind::fed || kind == Kind::ate)
      out.insert(night_of(settings.zone, settings.night_start_minute, query.integer(0)).number);
  }
  return out;
}

}  // namespace

std::vector<NotEaten> not_eaten(Reader& reader, Instant now, DayNumber nights) {
  const FoldSettings& settings = reader.settings();
  const DayNumber tonight = night_of(settings.zone, settings.night_start_minute, now).number;
  std::vector<NotEaten> out;
  for (const Named& animal : reader.all("animal")) {
    NotEaten one{.animal = animal};
    for (const NightOutcome& night : reader.nights(animal.thing, kNightsRead)) {
      if (night.outcome == "ate") {
        one.last_ate = night.night.number;
        break;
      }
      one.refused += night.outcome == "refused" ? 1 : 0;
    }
    const auto source = reader.field_source(animal.thing, "registered");
    const DayNumber begin = one.last_ate ? *one.last_ate
                            : source
                                ? night_of(settings.zone, settings.night_start_minute, reader.line(*source).at).number
                                : tonight;
    one.nights = tonight - begin;
    if (one.nights < nights || !reader.lives_here(animal.thing)) continue;
    one.place = place_of(reader, animal.thing, now);
    one.sex = reader.field(animal.thing, "sex");
    one.species = reader.field(animal.thing, "species");
    remark(reader, animal.thing, one.remark, Kind::gravid, {Kind::gravid, Kind::laid}, "gravid");
    remark(reader, animal.thing, one.remark, Kind::opaque, {Kind::opaque, Kind::shed}, "opaque");
    out.push_back(std::move(one));
  }
  std::stable_sort(out.begin(), out.end(), [](const NotEaten& a, const NotEaten& b) { return a.nights > b.nights; });
  return out;
}

std::vector<Unpaired> unpaired_females(Reader& reader, Instant now, DayNumber since, int years) {
  const Zone& zone = reader.settings().zone;
  const DayNumber today = zone.day_of(now);
  constexpr int kYear = 365;
  std::vector<Unpaired> out;
  for (const Named& animal : reader.all("animal")) {
    if (reader.field(animal.thing, "sex") != "female" || !reader.lives_here(animal.thing)) continue;
    Unpaired one{.animal = animal, .hatched = reader.field(animal.thing, "hatched")};
    const auto hatched = first_day_of(one.hatched);
    if (hatched && today - *hatched < years * kYear) continue;
    if (const auto paired = reader.latest(animal.thing, {Kind::paired, Kind::locked}))
      one.last_paired = zone.day_of(paired->at);
    if (one.last_paired && *one.last_paired >= since) continue;
    if (const auto weighed = reader.latest(animal.thing, {Kind::weighed}))
      one.grams_tenths = weighed->event->own.number("grams_tenths");
    one.species = reader.field(animal.thing, "species");
    one.place = place_of(reader, animal.thing, now);
    out.push_back(std::move(one));
  }
  return out;
}

std::vector<HelperDay> done_by_helpers(Reader& reader, DayNumber from, DayNumber to) {
  const Zone& zone = reader.settings().zone;
  const Instant start = zone.first_instant_of(from, 0);
  const Instant end = zone.first_instant_of(to + 1, 0);
  // An entry is never older than what it tells of, so each device's line is read from its end back to that day; clocks
  // may be a little off.
  constexpr Instant kClocksOff = 2 * kDay;
  std::map<std::string, HelperDay> found;
  std::map<std::string, std::set<std::string>> animals;
  LogStore& log = reader.book().log();
  for (const auto& [id, branch] : log.branches()) {
    for (std::uint32_t seq = branch.head_seq; seq > branch.base_seq; --seq) {
      const EventRow row = make_row(id, seq);
      const auto event = log.event_of(row);
      if (event->clock.wall_ms < start - kClocksOff) break;
      const KindClass sort = info_of(event->kind).kind_class;
      if (sort == KindClass::administration || sort == KindClass::judgement) continue;
      const StoryLine line = reader.line(row);
      if (line.gone || !line.read || line.at < start || line.at >= end) continue;
      HelperDay& day = found[line.by];
      day.helper = line.by.empty() ? "not said" : line.by;
      ++day.entries;
      ++day.kinds[line.kind_name];
      for (const std::string& code : line.event->of) animals[line.by].insert(code);
      if (line.event->of.empty()) animals[line.by].insert(line.event->place);
      day.first = std::min(day.first.value_or(line.at), line.at);
      day.last = std::max(day.last.value_or(line.at), line.at);
    }
  }
  std::vector<HelperDay> out;
  for (auto& [helper, day] : found) {
    day.animals = animals[helper].size();
    out.push_back(std::move(day));
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const HelperDay& a, const HelperDay& b) { return a.entries > b.entries; });
  return out;
}

std::vector<Eaten> eaten(Reader& reader, DayNumber from, DayNumber to) {
  std::map<std::string, Eaten> all;
  for (const Named& animal : reader.all("animal")) {
    const std::string usual = reader.field(animal.thing, "prey");
    std::set<std::string> kinds;
    for (const DayNumber number : nights_with_meals(reader, animal.thing, from, to)) {
      const auto night = reader.night(animal.thing, number);
      if (!night || night->outcome != "ate") continue;
      for (const auto& [prey, count] : eaten_in(reader, *night, usual)) {
        Eaten& one = all[prey];
        one.prey = prey;
        one.count += count;
        if (kinds.insert(prey).second) ++one.animals;
      }
    }
  }
  std::vector<Eaten> out;
  for (auto& [prey, one] : all) out.push_back(std::move(one));
  std::stable_sort(out.begin(), out.end(), [](const Eaten& a, const Eaten& b) { return a.count > b.count; });
  return out;
}

namespace {

/// Whether a young one was watched for so many days, and lived through them.
void watch(Reader& reader, PairRate& rate, const Named& young, DayNumber today, int days) {
  const auto hatched = first_day_of(reader.field(young.thing, "hatched"));
  if (!hatched) return;
  const Zone& zone = reader.settings().zone;
  const auto died = reader.latest(young.thing, {Kind::died});
  const auto left = reader.latest(young.thing, {Kind::left});
  const DayNumber until = *hatched + days;
  if (died && zone.day_of(died->at) < until) {
    ++rate.watched;
    return;
  }
  const DayNumber seen_to = left ? std::min(today, zone.day_of(left->at)) : today;
  if (seen_to < until) return;
  ++rate.watched;
  ++rate.alive;
}

void reckon(PairRate& rate) {
  rate.fertile = proportion_of(rate.good, rate.good + rate.slugs);
  rate.hatching = proportion_of(std::min(rate.hatched, rate.good), rate.good);
  rate.survival = proportion_of(rate.alive, rate.watched);
}

void add(PairRate& sum, const PairRate& one) {
  sum.clutches += one.clutches;
  sum.good += one.good;
  sum.slugs += one.slugs;
  sum.hatched += one.hatched;
  sum.watched += one.watched;
  sum.alive += one.alive;
}

}  // namespace

std::vector<PairRate> pair_rates(Reader& reader, Instant now, DayNumber from, int days) {
  constexpr DayNumber kDone = 120;
  const DayNumber today = reader.settings().zone.day_of(now);
  std::map<std::pair<std::string, std::string>, PairRate> pairs;
  for (const Clutch& clutch : all_clutches(reader, now)) {
    const bool done = !clutch.is_open() || today - clutch.laid > kDone;
    if (clutch.laid < from || !done || !clutch.good) continue;
    PairRate one{.dam = clutch.dam.label,
                 .clutches = 1,
                 .good = *clutch.good,
                 .slugs = clutch.slugs.value_or(0),
                 .hatched = clutch.hatched};
    for (const Thing sire : clutch.sires) one.sires += (one.sires.empty() ? "" : " or ") + reader.label(sire);
    if (one.sires.empty()) one.sires = "?";
    for (const Named& young : clutch.young) watch(reader, one, young, today, days);
    for (const Named& young : clutch.by_hand) watch(reader, one, young, today, days);
    PairRate& pair = pairs[{one.sires, one.dam}];
    pair.sires = one.sires;
    pair.dam = one.dam;
    add(pair, one);
  }
  std::vector<PairRate> out;
  PairRate all;
  for (auto& [key, rate] : pairs) {
    add(all, rate);
    out.push_back(std::move(rate));
  }
  std::sort(out.begin(), out.end(), [](const PairRate& a, const PairRate& b) {
    const int order = compare_naturally(a.dam, b.dam);
    return order != 0 ? order < 0 : compare_naturally(a.sires, b.sires) < 0;
  });
  if (!out.empty()) out.push_back(all);
  for (PairRate& rate : out) reckon(rate);
  return out;
}

}  // namespace rackside::core
