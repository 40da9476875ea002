#include "cli/register/import_rows.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <regex>
#include <sstream>

#include "cli/register/encoding.h"
#include "cli/register/fields.h"
#include "cli/register/table.h"
#include "core/base/error.h"

namespace rackside::cli {
namespace {

using core::DayNumber;
using core::Value;

// Weights over which a keeper is asked, tenths of a gram. Common practice, no source: no snake that is commonly bred
// out of a rack weighs 15 kg, and no hatchling of one 300 g.
constexpr std::int64_t kHeavy = 150'000;
constexpr std::int64_t kHeavyHatchling = 3'000;
constexpr DayNumber kHatchlingDays = 60;
constexpr DayNumber kOldDays = 50 * 365;
constexpr std::size_t kLongestCell = 1000;
constexpr std::size_t kLongestNote = 8000;

std::string trimmed(const std::string& text) {
  const auto begin = text.find_first_not_of(" \t\r\n");
  if (begin == std::string::npos) return {};
  return text.substr(begin, text.find_last_not_of(" \t\r\n") - begin + 1);
}

std::string lowered(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
  return text;
}

/// The trade's count of one animal is a sex too: 1.0 a male, 0.1 a female, 0.0.1 unsexed.
std::optional<std::string> sex_in(const std::string& text) {
  static const std::map<std::string, std::string> words = {
      {"m", "male"},    {"male", "male"},       {"♂", "male"},    {"1.0", "male"},        {"1.0.0", "male"},
      {"f", "female"},  {"female", "female"},   {"♀", "female"},  {"0.1", "female"},      {"0.1.0", "female"},
      {"?", "unknown"}, {"unknown", "unknown"}, {"u", "unknown"}, {"unsexed", "unknown"}, {"0.0.1", "unknown"}};
  const auto found = words.find(lowered(text));
  return found == words.end() ? std::nullopt : std::optional(found->second);
}

std::optional<bool> yes_or_no(const std::string& text) {
  const std::string low = lowered(text);
  if (low == "yes" || low == "y" || low == "x" || low == "true" || low == "1") return true;
  if (low == "no" || low == "n" || low == "false" || low == "0" || low == "-") return false;
  return std::nullopt;
}

/// Where other tables write that they do not know.
bool means_nothing(const std::string& text) {
  const std::string low = lowered(text);
  return low.empty() || low == "-" || low == "–" || low == "n/a" || low == "na" || low == "null";
}

class RowReader {
 public:
  RowReader(const Row& row, const std::map<Field, std::size_t>& where, DateOrder order, DayNumber today,
            std::vector<Problem>& problems)
      : row_(row), where_(where), order_(order), today_(today), problems_(problems) {
    out_.line = row.line;
  }

  ImportedAnimal read() {
    refuse_long();
    out_.short_id = cell(Field::short_id);
    if (out_.short_id.empty()) fault("the short ID is missing");
    out_.name = known(Field::name);
    out_.species = known(Field::species);
    out_.prey = known(Field::prey);
    out_.place = known(Field::at);
    out_.sire = known(Field::sire);
    out_.dam = known(Field::dam);
    out_.supplier = known(Field::supplier);
    out_.last_prey = known(Field::last_prey);
    out_.with = known(Field::with);
    out_.note = known(Field::note);
    read_sex();
    read_every();
    out_.hatched = date(Field::hatched);
    out_.acquired = date(Field::acquired);
    out_.last_meal = whole_day(Field::last_meal);
    out_.paired = whole_day(Field::paired);
    out_.sold = whole_day(Field::sold);
    out_.left = whole_day(Field::left);
    out_.died = whole_day(Field::died);
    read_weight();
    read_breeding();
    read_treatment();
    read_genes();
    out_.is_held = flag(Field::held);
    if (out_.paired && out_.with.empty()) fault("a pairing has a day and no partner: fill `with`, or empty `paired`");
    check_days();
    return std::move(out_);
  }

 private:
  void fault(const std::string& text) { problems_.push_back({row_.line, text, false}); }
  void doubt(const std::string& text) { problems_.push_back({row_.line, text, true}); }

  static std::size_t most_of(Field field) { return field == Field::note ? kLongestNote : kLongestCell; }

  std::string cell(Field field) const {
    const auto found = where_.find(field);
    if (found == where_.end() || found->second >= row_.cells.size()) return {};
    const std::string& text = row_.cells[found->second];
    return text.size() > most_of(field) ? std::string() : trimmed(text);
  }

  /// Mostly a separator that was not meant, or a quote that swallowed the lines behind it.
  void refuse_long() {
    for (const auto& [field, column] : where_)
      if (column < row_.cells.size() && row_.cells[column].size() > most_of(field))
        fault(fmt::format("{}: {} characters are too many for a cell; at most {}", info_of(field).word,
                          row_.cells[column].size(), most_of(field)));
  }

  std::string known(Field field) const {
    const std::string text = cell(field);
    return means_nothing(text) ? std::string() : core::mend_text(text);
  }

  void read_sex() {
    const std::string text = known(Field::sex);
    if (text.empty()) return;
    const auto sex = sex_in(text);
    if (!sex) return fault(fmt::format("“{}” is no sex that this book understands: male, female or unknown", text));
    out_.sex = *sex;
  }

  void read_every() {
    const std::string text = known(Field::every);
    if (text.empty()) return;
    try {
      out_.every = checked_interval(text);
    } catch (const core::Error&) {
      fault(fmt::format("“{}” is no feeding interval: write days, as 7 or 7-10", text));
    }
  }

  std::optional<TableDate> date(Field field) {
    const std::string text = known(field);
    if (text.empty() || lowered(text) == "unknown" || text == "?") return std::nullopt;
    const DateReading reading = read_date(text, order_);
    if (!reading.date) {
      fault(fmt::format("{}: {}", info_of(field).word, reading.problem));
    } else if (reading.date->first() > today_) {
      fault(fmt::format("{}: {} is in the future", info_of(field).word, reading.date->text()));
      return std::nullopt;
    }
    return reading.date;
  }

  std::optional<DayNumber> whole_day(Field field) {
    const auto found = date(field);
    if (found && found->day == 0) {
      fault(fmt::format("{}: {} is no day; write it whole, as 2024-07-15", info_of(field).word, found->text()));
      return std::nullopt;
    }
    return found ? std::optional(found->number()) : std::nullopt;
  }

  bool flag(Field field) {
    const std::string text = known(field);
    if (text.empty()) return false;
    const auto said = yes_or_no(text);
    if (!said) fault(fmt::format("{}: “{}” is neither yes nor no", info_of(field).word, text));
    return said.value_or(false);
  }

  void read_weight() {
    static const std::regex form(R"((\d{1,5})(?:[.,](\d))?\d?\s*(g|kg)?)", std::regex::icase);
    out_.weighed = whole_day(Field::weighed);
    const std::string text = known(Field::weight);
    if (text.empty()) return;
    std::smatch match;
    if (!std::regex_match(text, match, form))
      return fault(fmt::format("“{}” is no weight: write grams, as 412 or 41.2", text));
    const bool kilograms = lowered(match[3]) == "kg";
    const std::int64_t tenths = std::stoll(match[1]) * 10 + (match[2].matched ? std::stoi(match[2]) : 0);
    out_.grams_tenths = kilograms ? tenths * 1000 : tenths;
    const DayNumber when = out_.weighed.value_or(today_);
    const bool hatchling = out_.hatched && when - out_.hatched->first() <= kHatchlingDays;
    if (*out_.grams_tenths == 0) return fault("a weight of 0 g");
    if (*out_.grams_tenths >= kHeavy || (hatchling && *out_.grams_tenths >= kHeavyHatchling))
      doubt(fmt::format("{} is {} g{}: grams, or another animal?", text, *out_.grams_tenths / 10,
                        hatchling ? " for a hatchling" : ""));
  }

  void read_breeding() {
    const std::string gravid = known(Field::gravid);
    if (const auto said = yes_or_no(gravid); said && !gravid.empty()) {
      out_.is_gravid = *said;
    } else {
      out_.gravid = whole_day(Field::gravid);
      out_.is_gravid = out_.gravid.has_value();
    }
    out_.laid = whole_day(Field::laid);
    const std::string eggs = known(Field::eggs);
    static const std::regex form(R"((\d{1,3})\s*(?:[+/]\s*(\d{1,3}))?)");
    std::smatch match;
    if (eggs.empty()) return;
    if (!std::regex_match(eggs, match, form))
      return fault(fmt::format("“{}” are no eggs: write good ones + slugs, as 14+2", eggs));
    if (!out_.laid) return fault("eggs without the day they were laid: fill `laid`");
    out_.good = std::stoi(match[1]);
    out_.slugs = match[2].matched ? std::stoi(match[2]) : 0;
  }

  void read_treatment() {
    out_.remedy = lowered(known(Field::treated));
    out_.treated_on = whole_day(Field::treated_on);
    if (!out_.remedy.empty() && !out_.treated_on)
      fault("a treatment without its day: fill `treated-on`, or write it into `note`");
    if (out_.remedy.empty() && out_.treated_on) out_.remedy = "unknown";
  }

  void read_genes() {
    std::string text = known(Field::genes);
    std::replace(text.begin(), text.end(), ',', ';');
    std::istringstream parts(text);
    for (std::string part; std::getline(parts, part, ';');)
      if (!trimmed(part).empty()) out_.genes.push_back(gene_in_words(trimmed(part)));
  }

  /// What a life cannot have in another order.
  void check_days() {
    const auto days = out_.days();
    if (out_.hatched) {
      for (const auto& [day, what] : days)
        if (day < out_.hatched->first())
          fault(fmt::format("{} on {}, before it hatched ({})", what, core::date_text(day), out_.hatched->text()));
      if (out_.acquired && out_.acquired->last() < out_.hatched->first())
        fault(fmt::format("acquired {}, before it hatched ({})", out_.acquired->text(), out_.hatched->text()));
      if (today_ - out_.hatched->first() > kOldDays)
        doubt(fmt::format("hatched {}: over 50 years ago", out_.hatched->text()));
    }
    const auto nothing_after = [&](std::optional<DayNumber> end, std::string_view what) {
      if (!end) return;
      for (const auto& [day, happened] : days)
        if (day > *end && happened != what)
          fault(fmt::format("{} on {}, after it {} ({})", happened, core::date_text(day), what, core::date_text(*end)));
      if (out_.acquired && out_.acquired->first() > *end)
        fault(fmt::format("acquired {}, after it {} ({})", out_.acquired->text(), what, core::date_text(*end)));
    };
    nothing_after(out_.left, "left");
    nothing_after(out_.died, "died");
    if (out_.sold && out_.acquired && out_.acquired->first() > *out_.sold)
      fault(fmt::format("acquired {}, after it was sold ({})", out_.acquired->text(), core::date_text(*out_.sold)));
  }

  const Row& row_;
  const std::map<Field, std::size_t>& where_;
  DateOrder order_;
  DayNumber today_;
  std::vector<Problem>& problems_;
  ImportedAnimal out_;
};

constexpr bool holds_days(Field field) {
  switch (field) {
    case Field::hatched:
    case Field::acquired:
    case Field::last_meal:
    case Field::weighed:
    case Field::paired:
    case Field::gravid:
    case Field::laid:
    case Field::treated_on:
    case Field::sold:
    case Field::left:
    case Field::died:
      return true;
    default:
      return false;
  }
}

/// The one order that the dates show which only read one way; unsettled where none does, or where they disagree.
DateOrder order_of(const std::vector<Row>& rows, const std::map<Field, std::size_t>& where) {
  bool day = false;
  bool month = false;
  for (const Row& row : rows) {
    for (const auto& [field, column] : where) {
      if (!holds_days(field) || column >= row.cells.size()) continue;
      const DateOrder shown = order_shown_by(row.cells[column]);
      day = day || shown == DateOrder::day_first;
      month = month || shown == DateOrder::month_first;
    }
  }
  if (day == month) return DateOrder::unsettled;
  return day ? DateOrder::day_first : DateOrder::month_first;
}

void refuse_twice(const std::vector<ImportedAnimal>& animals, std::vector<Problem>& problems) {
  std::map<std::string, std::size_t> seen;
  for (const ImportedAnimal& one : animals) {
    if (one.short_id.empty()) continue;
    const auto [first, fresh] = seen.emplace(lowered(one.short_id), one.line);
    if (!fresh)
      problems.push_back(
          {one.line, fmt::format("“{}” stands twice in the table, first in line {}", one.short_id, first->second)});
  }
}

}  // namespace

std::vector<std::pair<DayNumber, std::string_view>> ImportedAnimal::days() const {
  std::vector<std::pair<DayNumber, std::string_view>> out;
  const auto add = [&](std::optional<DayNumber> day, std::string_view what) {
    if (day) out.emplace_back(*day, what);
  };
  add(last_meal, "ate");
  add(weighed, "was weighed");
  add(paired, "was paired");
  add(gravid, "was gravid");
  add(laid, "laid");
  add(treated_on, "was treated");
  add(sold, "was sold");
  add(left, "left");
  add(died, "died");
  return out;
}

Value gene_in_words(const std::string& text) {
  static const std::regex possible(R"((?:(\d{1,2}) *% +)?(?:pos(?:s|sible)?\.? +)?het +(.+))", std::regex::icase);
  std::smatch match;
  const std::string low = lowered(text);
  if (std::regex_match(text, match, possible)) {
    const bool certain = low.starts_with("het ");
    if (certain) return Value::Object{{"gene", trimmed(match[2])}, {"state", "het"}};
    const int chance = match[1].matched ? std::max(1, std::stoi(match[1])) : 50;
    return Value::Object{{"gene", trimmed(match[2])}, {"state", "possible-het"}, {"chance_percent", chance}};
  }
  if (low.starts_with("not ")) return Value::Object{{"gene", trimmed(text.substr(4))}, {"state", "not"}};
  if (low == "normal" || low == "wild type" || low == "wildtype") return Value::Object{{"state", "normal"}};
  return Value::Object{{"gene", text}, {"state", "visual"}};
}

ImportedTable read_animals(std::string_view bytes, const TableWishes& wishes) {
  const PlainText plain = to_utf8(bytes);
  ImportedTable out{.encoding = plain.encoding, .separator = separator_of(plain.text)};
  std::vector<Row> rows = parse_table(plain.text, out.separator);
  if (rows.empty())
    throw core::Error(
        core::Fault::bad_input,
        "The table is empty: its first line names the columns, `short` among them. Nothing was recorded.");
  out.columns = plan_columns(rows.front().cells, wishes.now, wishes.before);
  for (const std::string& problem : out.columns.problems) out.problems.push_back({rows.front().line, problem});
  rows.erase(rows.begin());
  const auto where = out.columns.where();
  out.order = wishes.order != DateOrder::unsettled ? wishes.order : order_of(rows, where);
  if (where.contains(Field::short_id)) {
    for (const Row& row : rows) {
      if (row.cells.size() > out.columns.columns.size())
        out.problems.push_back({row.line, fmt::format("{} cells, but the table has {} columns: a separator inside a "
                                                      "cell? Put that cell in quotes",
                                                      row.cells.size(), out.columns.columns.size())});
      out.animals.push_back(RowReader(row, where, out.order, wishes.today, out.problems).read());
    }
  }
  refuse_twice(out.animals, out.problems);
  std::stable_sort(out.problems.begin(), out.problems.end(),
                   [](const Problem& a, const Problem& b) { return a.line < b.line; });
  return out;
}

}  // namespace rackside::cli
