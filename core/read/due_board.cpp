#include "core/read/due_board.h"

#include <algorithm>
#include <charconv>
#include <unordered_map>

#include "core/base/pages.h"
#include "core/book/schema.h"
#include "core/genetics/catalogue.h"
#include "core/read/kept.h"
#include "core/read/snapshot.h"

namespace rackside::core {
namespace {

/// A row is good for later days, and for a clock that was set back by less than this.
constexpr Instant kSetBack = 30 * kDay;

/// The form of the rows, to be raised when it changes, and the settings that change what is read, not only how it is
/// judged.
constexpr const char* kForm = "4";
std::string reading_of(const CareSettings& settings) {
  return std::string(kForm) + " " + std::to_string(settings.limits[Limit::meal_rest_hours]) + " " +
         std::to_string(settings.limits[Limit::weight_peak_days]);
}

// ---- packing

struct Packer {
  std::string& out;
  void operator()(const char*, const std::optional<int>& number) const { put_number(number.value_or(kNoNumber), out); }
  void operator()(const char*, int number) const { put_number(number, out); }
  void operator()(const char*, bool flag) const { put_number(flag ? 1 : 0, out); }
};

struct Unpacker {
  ByteSpan& in;
  void operator()(const char*, std::optional<int>& number) const {
    const std::int32_t value = take_number(in);
    number = value == kNoNumber ? std::nullopt : std::optional<int>(value);
  }
  void operator()(const char*, int& number) const {
    const std::int32_t value = take_number(in);
    number = value == kNoNumber ? 0 : value;
  }
  void operator()(const char*, bool& flag) const { flag = take_number(in) == 1; }
};

// Texts of an event hold no control characters, so these part them.
constexpr char kBetweenTexts = '\x1f';
constexpr char kBetweenCourses = '\x1e';
constexpr char kInCourse = '\x1d';

constexpr std::size_t kLastParts = 3;  ///< fast, courses and season

std::string_view take_part(std::string_view& rest, char between) {
  const auto end = rest.find(between);
  const std::string_view part = rest.substr(0, end);
  rest.remove_prefix(end == std::string_view::npos ? rest.size() : end + 1);
  return part;
}

int number_in(std::string_view text) {
  int out = 0;
  std::from_chars(text.data(), text.data() + text.size(), out);
  return out;
}

std::string courses_text(const std::vector<Course>& courses) {
  std::string out;
  for (const Course& one : courses) {
    if (!out.empty()) out += kBetweenCourses;
    out += one.remedy + kInCourse + std::to_string(one.day) + kInCourse + std::to_string(one.repeat_days);
  }
  return out;
}

std::vector<Course> courses_in(std::string_view text) {
  std::vector<Course> out;
  while (!text.empty()) {
    std::string_view one = take_part(text, kBetweenCourses);
    Course course{.remedy = std::string(take_part(one, kInCourse))};
    course.day = number_in(take_part(one, kInCourse));
    course.repeat_days = number_in(one);
    out.push_back(std::move(course));
  }
  return out;
}

template <typename Record, typename Visit>
void visit_progress(Record& progress, const Visit& visit) {
  for (auto* day : {&progress.paired, &progress.ovulated, &progress.eggs_seen, &progress.shed, &progress.laid})
    visit(*day);
}

/// "-,-,20400,-,-" and a pair of step and days for each step that ended; nothing for most animals.
std::string season_text(const SeasonRecord& season) {
  if (season.progress.is_empty() && season.past.empty()) return "";
  std::string out;
  visit_progress(season.progress,
                 [&](const auto& day) { out += (day ? std::to_string(*day) : "-") + kBetweenCourses; });
  for (const auto& [step, days] : season.past)
    out += std::to_string(static_cast<int>(step)) + kInCourse + std::to_string(days) + kBetweenCourses;
  return out;
}

SeasonRecord season_in(std::string_view text) {
  SeasonRecord out;
  if (text.empty()) return out;
  visit_progress(out.progress, [&](auto& day) {
    const std::string_view one = take_part(text, kBetweenCourses);
    if (one != "-") day = number_in(one);
  });
  while (!text.empty()) {
    std::string_view one = take_part(text, kBetweenCourses);
    const int step = number_in(take_part(one, kInCourse));
    out.past.push_back({static_cast<Step>(step), number_in(one)});
  }
  return out;
}

}  // namespace

std::string packed_numbers(const AnimalFacts& facts) {
  std::string out;
  visit_numbers(facts, Packer{out});
  return out;
}

std::string packed_texts(const BoardRow& row) {
  std::string out;
  const std::string fast = row.facts.fast ? text_of(*row.facts.fast) : "";
  const std::string courses = courses_text(row.facts.courses);
  const std::string season = season_text(row.season);
  for (const std::string* text : {&row.code, &row.label, &row.every, &row.hatched, &row.prey, &row.species, &row.sex,
                                  &row.plan, &row.facts.caution, &row.facts.signs, &fast, &courses, &season})
    out += *text + kBetweenTexts;
  return out;
}

void unpack(ByteSpan numbers, std::string_view texts, BoardRow& row) {
  visit_numbers(row.facts, Unpacker{numbers});
  for (std::string* text : {&row.code, &row.label, &row.every, &row.hatched, &row.prey, &row.species, &row.sex,
                            &row.plan, &row.facts.caution, &row.facts.signs})
    *text = take_part(texts, kBetweenTexts);
  if (texts.size() == kLastParts) return;  // most have none of them
  row.facts.fast = parse_fast(take_part(texts, kBetweenTexts));
  row.facts.courses = courses_in(take_part(texts, kBetweenTexts));
  row.season = season_in(take_part(texts, kBetweenTexts));
}

namespace {

std::size_t count_animals(Database& database) {
  auto query = database.prepare("SELECT count(*) FROM field WHERE name = 'registered' AND value = '\"animal\"'");
  return query.step() ? static_cast<std::size_t>(query.integer(0)) : 0;
}

/// Ascending, as the index has them.
std::vector<Thing> all_animals(Database& database) {
  std::vector<Thing> out;
  auto query =
      database.prepare("SELECT subject FROM field WHERE name = 'registered' AND value = '\"animal\"' ORDER BY subject");
  while (query.step()) out.push_back(query.integer(0));
  return out;
}

/// The rows that are still good, ascending: read from end to end, where a look for each animal would take as long as
/// all the rest.
void take_kept(Database& database, const std::string& reading, Instant now, std::vector<BoardRow>& rows) {
  auto query =
      database.prepare("SELECT animal, as_of, reading, numbers, texts FROM due WHERE animal > ? ORDER BY animal");
  query.bind(kRowOfPlaces);
  while (query.step()) {
    if (query.integer(1) - kSetBack > now || query.text(2) != reading) continue;
    BoardRow& row = rows.emplace_back();
    row.animal = query.integer(0);
    unpack(query.blob(3), query.text(4), row);
  }
}

/// Animals that have no row among these, which are ascending.
std::vector<Thing> without_row(const std::vector<Thing>& animals, const std::vector<BoardRow>& rows) {
  std::vector<Thing> out;
  auto row = rows.begin();
  for (const Thing animal : animals) {
    while (row != rows.end() && row->animal < animal) ++row;
    if (row == rows.end() || row->animal != animal) out.push_back(animal);
  }
  return out;
}

}  // namespace

std::vector<BoardRow> due_board(Reader& reader, const CareSettings& settings, Instant now, std::size_t worth_keeping) {
  const std::int64_t state = state_of(reader.book().database());
  const std::string reading = reading_of(settings);
  std::vector<BoardRow> rows;
  std::vector<BoardRow> worked_out;
  {
    const Snapshot snapshot(reader.book().database());
    Database& database = reader.book().database();
    const std::size_t count = count_animals(database);
    rows.reserve(count);
    make_ready(rows.data(), count * sizeof(BoardRow));
    take_kept(database, reading, now, rows);
    // The fold throws away the row of an animal whose registration is taken back, so that as many are the same.
    if (rows.size() != count) {
      for (const Thing animal : without_row(all_animals(database), rows))
        worked_out.push_back(work_out(reader, settings, animal, now));
    }
  }
  if (!worked_out.empty() && worked_out.size() >= worth_keeping) {
    std::vector<KeptRow> kept;
    for (const BoardRow& row : worked_out)
      kept.push_back({row.animal, now, reading, packed_numbers(row.facts), packed_texts(row)});
    keep_rows(reader.book(), kept, state);
  }
  rows.insert(rows.end(), std::make_move_iterator(worked_out.begin()), std::make_move_iterator(worked_out.end()));
  return rows;
}

namespace {

Eater eater_of(const BoardRow& row) {
  return {.hatched = hatched_day(row.hatched),
          .grams_tenths = row.facts.grams_tenths,
          .every = row.every,
          .prey = row.prey,
          .plan = row.plan,
          .species = row.species};
}

}  // namespace

Diet diet_on(const BoardRow& row, const CareSettings& settings, DayNumber today) {
  return diet_of(eater_of(row), settings, today);
}

namespace {

void set_day(AnimalFacts& facts, const BoardRow& row, const CareSettings& settings, DayNumber today) {
  facts.interval = interval_of(eater_of(row), settings, today);
  if (facts.fast || settings.fasts.empty()) return;
  for (const std::string& key : {row.species + "/" + row.sex, row.species}) {
    const auto fast = settings.fasts.find(key);
    if (fast == settings.fasts.end() || facts.fast) continue;
    facts.fast = fast->second;
  }
}

}  // namespace

void take_day(BoardRow& row, const CareSettings& settings, DayNumber today) {
  set_day(row.facts, row, settings, today);
}

AnimalFacts facts_on(const BoardRow& row, const CareSettings& settings, DayNumber today) {
  AnimalFacts facts = row.facts;
  set_day(facts, row, settings, today);
  return facts;
}

}  // namespace rackside::core
