// ask: the questions that a keeper asks of a book, as lists.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>
#include <regex>

#include "cli/register/fields.h"
#include "cli/register/table.h"
#include "cli/season/season.h"
#include "cli/session.h"
#include "cli/wording.h"
#include "core/base/words.h"
#include "core/read/asked.h"
#include "core/read/care.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

/// An answer as rows: for a terminal, a table file, and programs alike.
struct Answered {
  std::string title;
  std::vector<std::string> headings;
  std::vector<std::vector<std::string>> rows;
  std::string remark;
};

struct AskOptions {
  std::string csv, species, sex, rack, day, from, to, month, since;
  int days = 14, years = 2;
  int survived_days = 90;
};

bool fits(const std::string& wanted, const std::string& value) {
  return wanted.empty() || edit_distance(wanted, value) == 0;
}

void write_csv(Session& session, const std::string& path, const Answered& answer) {
  std::string text = table_row(answer.headings);
  for (const auto& row : answer.rows) text += table_row(row);
  if (path == "-") return session.terminal.line(text.substr(0, text.size() - 2));
  std::ofstream file(path, std::ios::binary | std::ios::trunc);
  file << text;
  file.close();
  if (!file) throw Error(Fault::bad_input, "The file " + path + " could not be written: may you write there?");
  session.terminal.good(fmt::format("{}: {} rows.", path, answer.rows.size()));
}

void tell(Session& session, const AskOptions& options, const Answered& answer) {
  if (!options.csv.empty()) return write_csv(session, options.csv, answer);
  if (session.json) {
    Json out = Json::array();
    for (const auto& row : answer.rows) {
      Json one;
      for (std::size_t i = 0; i < row.size(); ++i) one[answer.headings[i]] = row[i];
      out.push_back(one);
    }
    return session.terminal.line(Json{{"question", answer.title}, {"rows", out}, {"remark", answer.remark}}.dump());
  }
  session.terminal.heading(answer.title);
  std::vector<std::vector<std::string>> rows{{}};
  for (const std::string& heading : answer.headings) rows.front().push_back(session.terminal.faint(heading));
  rows.insert(rows.end(), answer.rows.begin(), answer.rows.end());
  if (answer.rows.empty())
    session.terminal.line("Nothing.");
  else
    session.terminal.table(rows);
  if (!answer.remark.empty()) session.terminal.line(session.terminal.faint(answer.remark));
}

DayNumber day_said(const std::string& text, DayNumber otherwise) {
  DayNumber day = otherwise;
  if (!text.empty() && !parse_date(text, day)) throw bad_value("“" + text + "” is no day: write it as 2026-01-31.");
  return day;
}

/// The days that --month, --from and --to name; the month up to today where nothing was said.
std::pair<DayNumber, DayNumber> period_of(const AskOptions& options, DayNumber today) {
  if (!options.month.empty() && (!options.from.empty() || !options.to.empty()))
    throw bad_value("Say --month, or --from and --to.");
  const std::string month = options.month.empty() ? date_text(today).substr(0, 7) : options.month;
  DayNumber first = 0;
  if (!parse_date(month + "-01", first)) throw bad_value("“" + month + "” is no month: write 2026-11.");
  DayNumber last = first + 27;
  while (date_text(last + 1).substr(0, 7) == month) ++last;
  if (options.month.empty()) last = today;
  if (!options.from.empty() || !options.to.empty()) {
    last = day_said(options.to, today);
    first = day_said(options.from, options.from.empty() ? last - 30 : first);
  }
  if (first > last) throw bad_value("The period ends before it begins.");
  return {first, last};
}

/// What one prey weighs: the middle of what the keeper set (`prey`), else the weight in its own name ("rat-40g").
std::optional<double> grams_of_prey(const CareSettings& settings, const std::string& prey) {
  if (const auto set = settings.preys.find(prey); set != settings.preys.end())
    return (set->second.least + set->second.most) / 20.0;
  static const std::regex form(R"(.*?(\d+(?:\.\d+)?)g$)");
  std::smatch match;
  return std::regex_match(prey, match, form) ? std::optional(std::stod(match[1])) : std::nullopt;
}

std::string place_label(const std::optional<Named>& place) {
  return place ? place->label : std::string();
}

bool in_rack(Reader& reader, const std::optional<Named>& place, const std::string& rack) {
  if (rack.empty()) return true;
  const auto of = place ? reader.rack_of(place->thing) : std::nullopt;
  return of && fits(rack, reader.label(*of));
}

Answered ask_not_eaten(Reader& reader, Instant now, const AskOptions& options) {
  Answered out{
      .title = fmt::format("Not eaten for {} nights or more", options.days),
      .headings = {"place", "animal", "sex", "last ate", "nights", "refused since", "remark"},
      .rows = {},
      .remark =
          "Fasts of weeks happen around a shed, in males in the season and in gravid females. Where weight goes "
          "down: look, and ask a veterinarian."};
  for (const NotEaten& one : not_eaten(reader, now, options.days)) {
    if (!fits(options.species, one.species) || !fits(options.sex, one.sex) || !in_rack(reader, one.place, options.rack))
      continue;
    out.rows.push_back({place_label(one.place), one.animal.label, one.sex,
                        one.last_ate ? date_text(*one.last_ate) : "never here", fmt::to_string(one.nights),
                        fmt::to_string(one.refused), one.remark});
  }
  return out;
}

/// Where nobody says when the season began: the last first of September. Common practice, no source: pairings run from
/// autumn to spring.
DayNumber season_begin(DayNumber today) {
  const int year = std::stoi(date_text(today).substr(0, 4));
  DayNumber begin = 0;
  parse_date(fmt::format("{}-09-01", year), begin);
  if (begin > today) parse_date(fmt::format("{}-09-01", year - 1), begin);
  return begin;
}

Answered ask_unpaired(Reader& reader, Instant now, const AskOptions& options) {
  const DayNumber since = day_said(options.since, season_begin(reader.settings().zone.day_of(now)));
  Answered out{
      .title = "Females that were with no male since " + date_text(since),
      .headings = {"place", "animal", "species", "hatched", "grams", "last paired"},
      .rows = {},
      .remark = fmt::format("Females of {} years and over, and those of unknown age (--years). --since names another "
                            "beginning of the season.",
                            options.years)};
  for (const Unpaired& one : unpaired_females(reader, now, since, options.years)) {
    if (!fits(options.species, one.species) || !in_rack(reader, one.place, options.rack)) continue;
    out.rows.push_back({place_label(one.place), one.animal.label, one.species, one.hatched,
                        one.grams_tenths ? fmt::to_string(*one.grams_tenths / 10) : "",
                        one.last_paired ? date_text(*one.last_paired) : "never here"});
  }
  return out;
}

Answered ask_helpers(Reader& reader, Instant now, const AskOptions& options) {
  const DayNumber today = reader.settings().zone.day_of(now);
  const DayNumber from = day_said(options.day.empty() ? options.from : options.day, today);
  const DayNumber to = options.day.empty() ? day_said(options.to, today) : from;
  if (from > to) throw bad_value("The period ends before it begins.");
  Answered out{.title = from == to ? "What each helper did on " + date_text(from)
                                   : "What each helper did from " + date_text(from) + " to " + date_text(to),
               .headings = {"helper", "entries", "animals and tubs", "first", "last", "what"},
               .rows = {},
               .remark = {}};
  for (const HelperDay& one : done_by_helpers(reader, from, to)) {
    std::vector<std::pair<std::string, std::size_t>> kinds(one.kinds.begin(), one.kinds.end());
    std::stable_sort(kinds.begin(), kinds.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
    std::string what;
    for (const auto& [kind, count] : kinds) what += (what.empty() ? "" : ", ") + fmt::format("{} {}", count, kind);
    const auto clock = [&](std::optional<Instant> at) {
      if (!at) return std::string();
      const std::string time = clock_text(reader.settings().zone.minute_of_day(*at));
      return from == to ? time : date_text(reader.settings().zone.day_of(*at)) + " " + time;
    };
    out.rows.push_back({one.helper, fmt::to_string(one.entries), fmt::to_string(one.animals), clock(one.first),
                        clock(one.last), what});
  }
  return out;
}

Answered ask_eaten(Reader& reader, Instant now, const AskOptions& options) {
  const FoldSettings& settings = reader.settings();
  const auto [from, to] = period_of(options, night_of(settings.zone, settings.night_start_minute, now).number);
  Answered out{
      .title = "Eaten in the nights from " + date_text(from) + " to " + date_text(to),
      .headings = {"prey", "eaten", "grams", "animals", "a week"},
      .rows = {},
      .remark = "Grams by the weight that `prey` gives it, the middle of a range. Refused and left food is not in it."};
  const CareSettings settings_of_care = care_settings(reader);
  std::int64_t all = 0;
  double all_grams = 0;
  bool is_weighed = true;
  for (const Eaten& one : eaten(reader, from, to)) {
    all += one.count;
    const auto grams = grams_of_prey(settings_of_care, one.prey);
    is_weighed = is_weighed && grams;
    all_grams += grams.value_or(0) * static_cast<double>(one.count);
    out.rows.push_back({one.prey.empty() ? "not said" : one.prey, fmt::to_string(one.count),
                        grams ? fmt::format("{:.0f}", *grams * static_cast<double>(one.count)) : "",
                        fmt::to_string(one.animals),
                        fmt::format("{:.1f}", 7.0 * static_cast<double>(one.count) / (to - from + 1))});
  }
  if (out.rows.size() > 1)
    out.rows.push_back({"all", fmt::to_string(all), is_weighed ? fmt::format("{:.0f}", all_grams) : "", "", ""});
  return out;
}

std::string rate_text(const Proportion& rate, std::int64_t hits, std::int64_t all) {
  if (all == 0) return "–";
  return fmt::format("{}/{}  {:.0f} % ({:.0f}–{:.0f})", hits, all, 100 * rate.rate, 100 * rate.least, 100 * rate.most);
}

Answered ask_rates(Reader& reader, Instant now, const AskOptions& options) {
  const DayNumber from = day_said(options.since, 0);
  Answered out{.title = "Eggs, hatching and survival by pair",
               .headings = {"sire", "dam", "clutches", "good eggs", "hatched",
                            fmt::format("alive at {} days", options.survived_days)},
               .rows = {},
               .remark =
                   "In brackets: where the true rate lies, 95 times in 100 (Wilson’s interval). Few eggs say little. "
                   "Clutches that still wait are left out."};
  for (const PairRate& one : pair_rates(reader, now, from, options.survived_days))
    out.rows.push_back({one.dam.empty() ? "all" : one.sires, one.dam, fmt::to_string(one.clutches),
                        rate_text(one.fertile, one.good, one.good + one.slugs),
                        rate_text(one.hatching, std::min(one.hatched, one.good), one.good),
                        rate_text(one.survival, one.alive, one.watched)});
  return out;
}

using Ask = Answered (*)(Reader&, Instant, const AskOptions&);

std::pair<CLI::App*, std::shared_ptr<AskOptions>> add(CLI::App* ask, Session& session, const char* name,
                                                      const char* help, Ask question) {
  auto options = std::make_shared<AskOptions>();
  auto* verb = ask->add_subcommand(name, help);
  verb->add_option("--csv", options->csv, "Write the answer as a table to this file; - for the screen");
  verb->callback([&session, options, question] {
    Reader reader = session.reader();
    tell(session, *options, question(reader, session.now(), *options));
  });
  return {verb, options};
}

}  // namespace

void add_question_lists(CLI::App& app, Session& session) {
  auto* ask = app.add_subcommand("ask", "Lists that answer a keeper’s questions; each with --csv and --json");
  ask->require_subcommand(1);
  auto [hungry, hungry_options] = add(ask, session, "not-eaten", "Who has not eaten for so many nights", ask_not_eaten);
  hungry->add_option("--days", hungry_options->days, "Nights")->check(CLI::Range(1, 5000))->capture_default_str();
  hungry->add_option("--species", hungry_options->species, "Only this species");
  hungry->add_option("--sex", hungry_options->sex, "Only this sex");
  hungry->add_option("--rack", hungry_options->rack, "Only this rack");
  auto [single, single_options] =
      add(ask, session, "unpaired", "Which females were not paired this season", ask_unpaired);
  single->add_option("--since", single_options->since, "The season’s first day (default: the last 1 September)");
  single->add_option("--years", single_options->years, "Least age")->check(CLI::Range(0, 50))->capture_default_str();
  single->add_option("--species", single_options->species, "Only this species");
  single->add_option("--rack", single_options->rack, "Only this rack");
  auto [helpers, helper_options] =
      add(ask, session, "helpers", "What each helper did today, or on other days", ask_helpers);
  helpers->add_option("--day", helper_options->day, "Another day");
  helpers->add_option("--from", helper_options->from, "First day");
  helpers->add_option("--to", helper_options->to, "Last day");
  auto [food, food_options] = add(ask, session, "eaten", "What was eaten this month, by prey", ask_eaten);
  food->add_option("--month", food_options->month, "Another month: 2026-10");
  food->add_option("--from", food_options->from, "First night");
  food->add_option("--to", food_options->to, "Last night");
  auto [rates, rate_options] =
      add(ask, session, "rates", "Fertile, hatched and surviving, by pair, with how sure that is", ask_rates);
  rates->add_option("--since", rate_options->since, "Clutches that were laid from this day on");
  rates->add_option("--days", rate_options->survived_days, "Survival up to this age")
      ->check(CLI::Range(1, 2000))
      ->capture_default_str();
}

}  // namespace rackside::cli
