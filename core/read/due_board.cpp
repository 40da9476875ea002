#include "core/read/due_board.h"

#include <unordered_map>

#include "core/read/snapshot.h"

namespace rackside::core {
namespace {

constexpr Instant kRecent = 60 * kDay;
constexpr int kOpaqueLasts =
    21;  ///< the whole shed takes 7 to 14 days (a veterinary article); then it is overdue, not opaque
constexpr int kNightsRead = 10;
/// A row is good for later days, and for a clock that was set back by less than this.
constexpr Instant kSetBack = 30 * kDay;

std::optional<DayNumber> hatched_day(const std::string& text) {
  std::string whole = text;
  if (whole.size() == 4) whole += "-07";
  if (whole.size() == 7) whole += "-01";
  DayNumber day = 0;
  return parse_date(whole, day) ? std::optional(day) : std::nullopt;
}

void read_nights(Reader& reader, Thing animal, AnimalFacts& facts) {
  for (const NightOutcome& night : reader.nights(animal, kNightsRead)) {
    const bool newest = !facts.last_meal && facts.refusals == 0 && !facts.check_tub && !facts.open_offer;
    if (night.offer_open && newest) facts.open_offer = night.night.number;
    if (night.outcome == "check-tub" && newest) facts.check_tub = night.night.number;
    if (night.outcome == "refused" && !facts.last_meal) {
      ++facts.refusals;
      if (!facts.last_refusal) facts.last_refusal = night.night.number;
    }
    if (night.outcome == "ate" && !facts.last_meal) {
      facts.last_meal = night.night.number;
      facts.servings = static_cast<int>(night.amount);
      facts.caution = night.caution;
      if (!night.caution.empty()) facts.caution_night = night.night.number;
    }
  }
}

void read_signs(Reader& reader, Thing animal, Instant now, AnimalFacts& facts) {
  const Zone& zone = reader.settings().zone;
  std::optional<Instant> shed;
  auto query =
      reader.book().database().prepare("SELECT kind, at FROM account WHERE subject = ? AND at >= ? ORDER BY at DESC");
  query.bind(animal, now - kRecent);
  while (query.step()) {
    const Kind kind = static_cast<Kind>(query.integer(0));
    const Instant at = query.integer(1);
    if (kind == Kind::shed && !shed) shed = at;
    if (kind == Kind::opaque && !facts.opaque && !shed) facts.opaque = zone.day_of(at);
    const bool ate_since = facts.last_meal && *facts.last_meal > zone.day_of(at);
    if (kind == Kind::regurgitated && !facts.regurgitated && !ate_since) facts.regurgitated = zone.day_of(at);
  }
}

bool nobody_writes(Book& book) {
  if (book.database().in_memory()) return true;
  try {
    const BookLock lock(book.path() + "-lock", 0);
    return true;
  } catch (const Error&) {
    return false;
  }
}

/// Changes when another connection has written.
std::int64_t version_of(Database& database) {
  auto query = database.prepare("PRAGMA data_version");
  query.step();
  return query.integer(0);
}

void keep(Book& book, const std::vector<BoardRow>& rows, Instant now, std::int64_t version) {
  book.write([&] {
    if (version_of(book.database()) != version) return;  // what was read may be old already
    for (const BoardRow& row : rows) {
      const AnimalFacts& facts = row.facts;
      book.database()
          .prepare("INSERT OR REPLACE INTO due VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)")
          .bind(row.animal, now, facts.last_meal, facts.servings, facts.last_refusal, facts.refusals, facts.open_offer,
                facts.check_tub, facts.caution, facts.caution_night, facts.opaque, facts.regurgitated, facts.registered,
                row.every, row.hatched, row.prey)
          .run();
    }
  });
}

std::optional<DayNumber> day_in(const Statement& query, int column) {
  return query.null(column) ? std::nullopt : std::optional(static_cast<DayNumber>(query.integer(column)));
}

BoardRow kept_row(const Statement& query) {
  BoardRow row{.animal = query.integer(0)};
  AnimalFacts& facts = row.facts;
  facts.last_meal = day_in(query, 2);
  facts.servings = static_cast<int>(query.integer(3));
  facts.last_refusal = day_in(query, 4);
  facts.refusals = static_cast<int>(query.integer(5));
  facts.open_offer = day_in(query, 6);
  facts.check_tub = day_in(query, 7);
  facts.caution = query.text(8);
  facts.caution_night = day_in(query, 9);
  facts.opaque = day_in(query, 10);
  facts.regurgitated = day_in(query, 11);
  facts.registered = day_in(query, 12);
  row.every = query.text(13);
  row.hatched = query.text(14);
  row.prey = query.text(15);
  return row;
}

}  // namespace

BoardRow work_out(Reader& reader, Thing animal, Instant now) {
  BoardRow row{.animal = animal};
  read_nights(reader, animal, row.facts);
  read_signs(reader, animal, now, row.facts);
  if (const auto source = reader.field_source(animal, "registered"))
    row.facts.registered = reader.settings().zone.day_of(reader.line(*source).at);
  row.every = reader.field(animal, "every");
  row.hatched = reader.field(animal, "hatched");
  row.prey = reader.field(animal, "prey");
  return row;
}

std::vector<BoardRow> due_board(Reader& reader, Instant now, std::size_t worth_keeping) {
  const std::int64_t version = version_of(reader.book().database());
  std::vector<BoardRow> rows;
  std::vector<BoardRow> worked_out;
  {
    const Snapshot snapshot(reader.book().database());
    std::vector<Thing> missing;
    auto query = reader.book().database().prepare(
        "SELECT field.subject, due.as_of, last_meal, servings, last_refusal, refusals, open_offer, check_tub, caution, "
        "caution_night, opaque, regurgitated, registered, every, hatched, prey FROM field LEFT JOIN due ON animal = "
        "field.subject WHERE name = 'registered' AND value = '\"animal\"'");
    while (query.step()) {
      const bool kept = !query.null(1) && query.integer(1) - kSetBack <= now;
      if (kept)
        rows.push_back(kept_row(query));
      else
        missing.push_back(query.integer(0));
    }
    for (const Thing animal : missing) worked_out.push_back(work_out(reader, animal, now));
  }
  if (!worked_out.empty() && worked_out.size() >= worth_keeping && nobody_writes(reader.book()))
    keep(reader.book(), worked_out, now, version);
  rows.insert(rows.end(), std::make_move_iterator(worked_out.begin()), std::make_move_iterator(worked_out.end()));
  return rows;
}

AnimalFacts facts_on(const BoardRow& row, const Zone& zone, Instant now) {
  AnimalFacts facts = row.facts;
  const DayNumber today = zone.day_of(now);
  if (facts.opaque && today - *facts.opaque > kOpaqueLasts) facts.opaque.reset();
  const auto own = parse_interval(row.every);
  facts.interval = own ? *own : usual_interval(hatched_day(row.hatched), today);
  return facts;
}

}  // namespace rackside::core
