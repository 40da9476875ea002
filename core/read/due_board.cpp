#include "core/read/due_board.h"

#include <algorithm>
#include <charconv>
#include <unordered_map>

#include "core/genetics/catalogue.h"
#include "core/read/snapshot.h"

namespace rackside::core {
namespace {

/// A row is good for later days, and for a clock that was set back by less than this.
constexpr Instant kSetBack = 30 * kDay;

std::int64_t version_of(Database& database) {
  // Changes when another connection has written.
  auto query = database.prepare("PRAGMA data_version");
  query.step();
  return query.integer(0);
}

std::size_t count_kept(Database& database) {
  auto query = database.prepare("SELECT count(*) FROM due");
  return query.step() ? static_cast<std::size_t>(query.integer(0)) : 0;
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

/// The form of the rows, to be raised when it changes, and the settings that change what is read, not only how it is
/// judged.
constexpr const char* kForm = "4";
std::string reading_of(const CareSettings& settings) {
  return std::string(kForm) + " " + std::to_string(settings.limits[Limit::meal_rest_hours]) + " " +
         std::to_string(settings.limits[Limit::weight_peak_days]);
}

void keep(Book& book, const std::vector<BoardRow>& rows, const std::string& reading, Instant now,
          std::int64_t version) {
  book.write([&] {
    if (version_of(book.database()) != version) return;  // what was read may be old already
    for (const BoardRow& row : rows) {
      const std::string numbers = packed_numbers(row.facts);
      book.database()
          .prepare("INSERT OR REPLACE INTO due VALUES(?, ?, ?, ?, ?)")
          .bind(row.animal, now, reading, as_bytes(numbers), packed_texts(row))
          .run();
    }
  });
}

// ---- packing: four bytes a number, least first; the least of all stands for none

constexpr std::int32_t kNone = INT32_MIN;

void put(std::int32_t number, std::string& out) {
  const auto bits = static_cast<std::uint32_t>(number);
  for (int shift = 0; shift < 32; shift += 8) out += static_cast<char>(static_cast<unsigned char>(bits >> shift));
}

struct Packer {
  std::string& out;
  void operator()(const char*, const std::optional<int>& number) const { put(number.value_or(kNone), out); }
  void operator()(const char*, int number) const { put(number, out); }
  void operator()(const char*, bool flag) const { put(flag ? 1 : 0, out); }
};

struct Unpacker {
  ByteSpan& in;
  std::int32_t next() const {
    if (in.size() < 4) return kNone;
    const auto bits = static_cast<std::uint32_t>(in[0]) | static_cast<std::uint32_t>(in[1]) << 8 |
                      static_cast<std::uint32_t>(in[2]) << 16 | static_cast<std::uint32_t>(in[3]) << 24;
    in = in.subspan(4);
    return static_cast<std::int32_t>(bits);
  }
  void operator()(const char*, std::optional<int>& number) const {
    const std::int32_t value = next();
    number = value == kNone ? std::nullopt : std::optional<int>(value);
  }
  void operator()(const char*, int& number) const {
    const std::int32_t value = next();
    number = value == kNone ? 0 : value;
  }
  void operator()(const char*, bool& flag) const { flag = next() == 1; }
};

// Texts of an event hold no control characters, so these part them.
constexpr char kBetweenTexts = '\x1f';
constexpr char kBetweenCourses = '\x1e';
constexpr char kInCourse = '\x1d';

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

BoardRow unpacked(Thing animal, ByteSpan numbers, std::string_view texts) {
  BoardRow row{.animal = animal};
  visit_numbers(row.facts, Unpacker{numbers});
  for (std::string* text : {&row.code, &row.label, &row.every, &row.hatched, &row.prey, &row.species, &row.sex,
                            &row.plan, &row.facts.caution, &row.facts.signs})
    *text = take_part(texts, kBetweenTexts);
  row.facts.fast = parse_fast(take_part(texts, kBetweenTexts));
  row.facts.courses = courses_in(take_part(texts, kBetweenTexts));
  row.season = season_in(take_part(texts, kBetweenTexts));
  return row;
}

std::vector<BoardRow> due_board(Reader& reader, const CareSettings& settings, Instant now, std::size_t worth_keeping) {
  const std::int64_t version = version_of(reader.book().database());
  const std::string reading = reading_of(settings);
  std::vector<BoardRow> rows;
  std::vector<BoardRow> worked_out;
  {
    const Snapshot snapshot(reader.book().database());
    std::vector<Thing> missing;
    rows.reserve(count_kept(reader.book().database()));
    auto query = reader.book().database().prepare(
        "SELECT field.subject, due.as_of, due.reading, due.numbers, due.texts FROM field LEFT JOIN due ON animal = "
        "field.subject WHERE name = 'registered' AND value = '\"animal\"'");
    while (query.step()) {
      const bool kept = !query.null(1) && query.integer(1) - kSetBack <= now && query.text(2) == reading;
      if (kept)
        rows.push_back(unpacked(query.integer(0), query.blob(3), query.text(4)));
      else
        missing.push_back(query.integer(0));
    }
    for (const Thing animal : missing) worked_out.push_back(work_out(reader, settings, animal, now));
  }
  if (!worked_out.empty() && worked_out.size() >= worth_keeping && nobody_writes(reader.book()))
    keep(reader.book(), worked_out, reading, now, version);
  rows.insert(rows.end(), std::make_move_iterator(worked_out.begin()), std::make_move_iterator(worked_out.end()));
  return rows;
}

Diet diet_on(const BoardRow& row, const CareSettings& settings, DayNumber today) {
  return diet_of({.hatched = hatched_day(row.hatched),
                  .grams_tenths = row.facts.grams_tenths,
                  .every = row.every,
                  .prey = row.prey,
                  .plan = row.plan,
                  .species = row.species},
                 settings, today);
}

AnimalFacts facts_on(const BoardRow& row, const CareSettings& settings, DayNumber today) {
  AnimalFacts facts = row.facts;
  facts.interval = diet_on(row, settings, today).interval;
  if (facts.fast || settings.fasts.empty()) return facts;
  for (const std::string& key : {row.species + "/" + row.sex, row.species}) {
    const auto fast = settings.fasts.find(key);
    if (fast == settings.fasts.end() || facts.fast) continue;
    facts.fast = fast->second;
  }
  return facts;
}

}  // namespace rackside::core
