#include "core/read/life.h"

#include <algorithm>
#include <set>

#include "core/entry/entry.h"
#include "core/read/family.h"

namespace rackside::core {
namespace {

constexpr int kNights = 5000;
constexpr int kStory = 20'000;
constexpr std::size_t kYoung = 400;

bool is_marked(Kind kind) {
  switch (kind) {
    case Kind::shed:
    case Kind::regurgitated:
    case Kind::treated:
    case Kind::locked:
    case Kind::palpated:
    case Kind::ovulated:
    case Kind::gravid:
    case Kind::laid:
    case Kind::opaque:
    case Kind::sold:
    case Kind::sexed:
      return true;
    default:
      return false;
  }
}

class Gatherer {
 public:
  Gatherer(Reader& reader, const Named& animal, Instant now)
      : reader_(reader), zone_(reader.settings().zone), now_(now) {
    life_.animal = animal;
    life_.today = zone_.day_of(now);
  }

  Life gather() {
    const Thing thing = life_.animal.thing;
    for (auto& [name, text] : {std::pair{"name", &life_.name},
                               {"sex", &life_.sex},
                               {"species", &life_.species},
                               {"hatched", &life_.hatched},
                               {"acquired", &life_.acquired}})
      *text = reader_.field(thing, name);
    life_.genes = gene_lines(reader_, thing);
    life_.parents = parents_text(reader_, parents_said(reader_, thing));
    take_nights();
    take_stays();
    take_story();
    take_young();
    if (life_.sex != "male") life_.clutches = clutches_of(reader_, thing, now_);
    return std::move(life_);
  }

 private:
  DayNumber day(Instant at) const { return zone_.day_of(at); }

  void take_nights() {
    for (const NightOutcome& one : reader_.nights(life_.animal.thing, kNights))
      life_.nights.push_back({one.night.number, one.outcome, one.amount, one.prey});
    std::reverse(life_.nights.begin(), life_.nights.end());
  }

  void take_stays() {
    struct Row {
      Thing place, animal;
      std::optional<Thing> partner;
      Instant since;
      std::optional<Instant> until;
      bool visiting;
    };
    std::vector<Row> rows;
    {
      auto query = reader_.book().database().prepare(
          "SELECT place, animal, partner, since, until, role FROM stay WHERE animal = ?1 UNION SELECT place, animal, "
          "partner, "
          "since, until, role FROM stay WHERE partner = ?1 ORDER BY 4");
      query.bind(life_.animal.thing);
      while (query.step())
        rows.push_back({query.integer(0), query.integer(1),
                        query.null(2) ? std::nullopt : std::optional<Thing>(query.integer(2)), query.integer(3),
                        query.null(4) ? std::nullopt : std::optional<Instant>(query.integer(4)),
                        query.integer(5) == static_cast<int>(Stay::Role::visiting)});
    }
    for (const Row& row : rows) {
      LifeStay stay{.place = reader_.named(row.place), .since = day(row.since)};
      if (row.until) stay.until = day(*row.until);
      const bool own = row.animal == life_.animal.thing;
      if (row.visiting && own && row.partner) stay.partner = reader_.named(*row.partner);
      if (!own) stay.partner = reader_.named(row.animal);
      (row.visiting ? life_.visits : life_.homes).push_back(std::move(stay));
    }
  }

  void take_story() {
    std::vector<StoryLine> lines = reader_.story(life_.animal.thing, kStory);
    std::reverse(lines.begin(), lines.end());
    life_.entries = lines.size();
    for (const StoryLine& line : lines) {
      if (line.gone || line.disputed) take_correction(line);
      if (!line.gone) take(line);
    }
  }

  void take(const StoryLine& line) {
    if (line.kind == Kind::weighed) life_.weights.emplace_back(day(line.at), line.event->own.number("grams_tenths"));
    if (line.kind == Kind::shed) life_.sheds.push_back(day(line.at));
    if (line.kind == Kind::left || line.kind == Kind::died) {
      life_.ended = day(line.at);
      life_.end = line.kind_name;
    }
    if (line.kind == Kind::moved) life_.ended.reset();
    if (is_marked(line.kind)) life_.marks.push_back({day(line.at), line.kind, event_text(line.kind, line.event->own)});
  }

  /// Who took it back: the newest event that names it and withdraws or replaces it.
  void take_correction(const StoryLine& line) {
    std::vector<std::pair<EventRow, Relation>> sources;
    {
      auto query =
          reader_.book().database().prepare("SELECT source, relation FROM answer WHERE target = ? ORDER BY source");
      query.bind(reader_.book().log().find(line.ref));
      while (query.step()) sources.emplace_back(query.integer(0), static_cast<Relation>(query.integer(1)));
    }
    LifeCorrection out{.day = day(line.at), .what = event_text(line.kind, line.event->own), .disputed = line.disputed};
    for (const auto& [row, relation] : sources) {
      const StoryLine source = reader_.line(row);
      const bool replaces = relation == Relation::replaces && source.kind != Kind::voided;
      if ((source.kind != Kind::voided && !replaces) || source.gone) continue;
      out.by = source.by;
      out.corrected = day(source.at);
      out.instead = replaces ? event_text(source.kind, source.event->own) : std::string();
    }
    life_.corrections.push_back(std::move(out));
  }

  void take_young() {
    std::vector<Thing> children;
    {
      auto query = reader_.book().database().prepare("SELECT DISTINCT child FROM parent WHERE parent = ? LIMIT ?");
      query.bind(life_.animal.thing, static_cast<std::int64_t>(kYoung));
      while (query.step()) children.push_back(query.integer(0));
    }
    for (const Thing child : children) life_.young.push_back(reader_.named(child));
    std::sort(life_.young.begin(), life_.young.end(),
              [](const Named& a, const Named& b) { return compare_naturally(a.label, b.label) < 0; });
  }

  Reader& reader_;
  const Zone& zone_;
  Instant now_;
  Life life_;
};

std::vector<int> gaps(const std::vector<LifeNight>& nights) {
  std::vector<int> out;
  std::optional<DayNumber> last;
  for (const LifeNight& one : nights) {
    if (one.outcome != "ate") continue;
    if (last && one.night > *last) out.push_back(one.night - *last);
    last = one.night;
  }
  return out;
}

}  // namespace

int median_of(std::vector<int> numbers) {
  if (numbers.empty()) return 0;
  const auto middle = numbers.begin() + static_cast<std::ptrdiff_t>((numbers.size() - 1) / 2);
  std::nth_element(numbers.begin(), middle, numbers.end());
  return *middle;
}

DayNumber Life::first_day() const {
  DayNumber first = last_day();
  if (!weights.empty()) first = std::min(first, weights.front().first);
  if (!nights.empty()) first = std::min(first, nights.front().night);
  for (const LifeMark& mark : marks) first = std::min(first, mark.day);
  for (const LifeStay& stay : visits) first = std::min(first, stay.since);
  return first;
}

std::vector<int> Life::shed_intervals() const {
  std::vector<int> out;
  for (std::size_t i = 1; i < sheds.size(); ++i)
    if (sheds[i] - sheds[i - 1] > 7) out.push_back(sheds[i] - sheds[i - 1]);  // within a week: one shed told twice
  return out;
}

int Life::meals() const {
  return static_cast<int>(
      std::count_if(nights.begin(), nights.end(), [](const LifeNight& one) { return one.outcome == "ate"; }));
}

int Life::refusals() const {
  return static_cast<int>(
      std::count_if(nights.begin(), nights.end(), [](const LifeNight& one) { return one.outcome == "refused"; }));
}

int Life::usual_gap() const {
  return median_of(gaps(nights));
}

int Life::longest_gap() const {
  const std::vector<int> all = gaps(nights);
  return all.empty() ? 0 : *std::max_element(all.begin(), all.end());
}

Life life_of(Reader& reader, const Named& animal, Instant now) {
  return Gatherer(reader, animal, now).gather();
}

}  // namespace rackside::core
