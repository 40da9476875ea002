// calendar, season.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "cli/season/season.h"
#include "cli/session.h"
#include "cli/verbs.h"
#include "core/read/season_list.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

std::string window_text(const Expected& one) {
  return one.first == one.last ? date_text(one.first) : date_text(one.first) + " to " + date_text(one.last);
}

std::string basis_text(const Window& window) {
  if (window.own == 0) return "rule of thumb";
  return fmt::format("rule of thumb and {} of your own", window.own);
}

std::string when_text(const Expected& one, DayNumber today) {
  if (one.late > 0) return fmt::format("{} day{} late", one.late, one.late == 1 ? "" : "s");
  if (today >= one.first) return "any day now";
  const int days = one.first - today;
  return fmt::format("in {} day{}", days, days == 1 ? "" : "s");
}

void print_calendar(Session& session, const std::vector<CalendarLine>& lines, DayNumber today) {
  if (lines.empty()) {
    session.terminal.line(
        "Nothing is expected: no pairing, ovulation or clutch in this book leads to a day that the settings know.");
    session.terminal.line(session.terminal.faint("`rackside season list` shows the settings, by species."));
    return;
  }
  std::vector<std::vector<std::string>> table;
  for (const CalendarLine& line : lines) {
    const Expected& one = line.expected;
    const StepInfo& step = info_of(one.step);
    const std::string when = when_text(one, today);
    table.push_back(
        {window_text(one), one.late > 0 ? session.terminal.styled(Terminal::Style::warn, "! " + when) : when,
         session.terminal.name(line.female.label), line.place ? line.place->label : "",
         session.terminal.strong(step.what),
         session.terminal.faint(fmt::format("{} {}; {}", step.since, date_text(one.since), basis_text(one.window)))});
  }
  session.terminal.table(table);
  session.terminal.line(
      session.terminal.faint("Each window holds the day 8 times in 10, if things go as usual. It is no diagnosis: if "
                             "she strains, or is late and "
                             "unwell, ask a veterinarian."));
}

Json calendar_json(const std::vector<CalendarLine>& lines) {
  Json out = Json::array();
  for (const CalendarLine& line : lines) {
    const Expected& one = line.expected;
    out.push_back({{"female", line.female.label},
                   {"place", line.place ? line.place->label : ""},
                   {"what", info_of(one.step).what},
                   {"step", info_of(one.step).word},
                   {"since", date_text(one.since)},
                   {"first", date_text(one.first)},
                   {"last", date_text(one.last)},
                   {"chance", one.window.chance},
                   {"own_observations", one.window.own},
                   {"days_late", one.late}});
  }
  return out;
}

void show_calendar(Session& session, int days) {
  Reader reader = session.reader();
  const DayNumber today = reader.settings().zone.day_of(session.now());
  std::vector<CalendarLine> lines = season_list(reader, session.now());
  std::erase_if(lines, [&](const CalendarLine& line) { return line.expected.first > today + days; });
  if (session.json) return session.terminal.line(calendar_json(lines).dump());
  print_calendar(session, lines, today);
}

std::string range_text(const RuleOfThumb& rule) {
  return rule.least == rule.most ? fmt::format("{:.0f} days", rule.least)
                                 : fmt::format("{:.0f} to {:.0f} days", rule.least, rule.most);
}

void list_season(Session& session, const std::string& species) {
  Reader reader = session.reader();
  std::set<std::string> names;
  for (const Named& animal : reader.all("animal")) names.insert(reader.field(animal.thing, "species"));
  names.erase("");
  if (!species.empty()) names = {species};
  Json list = Json::array();
  std::vector<std::vector<std::string>> table;
  for (const std::string& name : names) {
    const SeasonRules rules = season_rules(reader, name);
    for (const StepInfo& step : step_table()) {
      const auto rule = rules.find(step.step);
      const bool own = !reader.setting(season_setting(name, step.step)).empty();
      const std::string range = rule == rules.end() ? "not set: nothing is shown" : range_text(rule->second);
      table.push_back({name, std::string(step.word), range,
                       own                   ? "your own"
                       : rule == rules.end() ? ""
                                             : "rule of thumb"});
      if (rule != rules.end())
        list.push_back({{"species", name},
                        {"step", step.word},
                        {"least", rule->second.least},
                        {"most", rule->second.most},
                        {"own", own}});
    }
  }
  if (session.json) return session.terminal.line(list.dump());
  session.terminal.table(table);
}

void set_season(Session& session, const std::string& species, const std::string& word, const std::string& days) {
  const auto step = step_of(word);
  std::string known;
  for (const StepInfo& one : step_table()) known += (known.empty() ? "" : ", ") + std::string(one.word);
  if (!step) throw Error(Fault::usage, "“" + word + "” is no step of a season; there are " + known + ".");
  const bool none = days == "none";
  if (!none && !parse_days(days))
    throw Error(Fault::usage,
                fmt::format("“{}” is no range of days: write 55-62, 60, or none. The first is at most the "
                            "second, and no step takes over {} days.",
                            days, kLongestStep));
  session.record({{.kind = Kind::set,
                   .own = Value::Object{{"key", season_setting(species, *step)},
                                        {"value", none ? std::string() : days},
                                        {"from", static_cast<std::int64_t>(session.now())}}}});
  session.terminal.good(
      fmt::format("{}, {}: {}.", species, word, none ? "nothing is shown" : range_text(*parse_days(days))));
}

}  // namespace

void add_season_verbs(CLI::App& app, Session& session) {
  add_clutch_verb(app, session);
  add_hatchling_verb(app, session);
  add_sex_verb(app, session);
  add_rotation_verb(app, session);
  add_question_lists(app, session);
  auto* calendar = app.add_subcommand("calendar", "Who lays, and what hatches, when: as windows with their chance");
  auto days = std::make_shared<int>(120);
  calendar->add_option("--days", *days, "How far ahead")->check(CLI::Range(0, 800))->capture_default_str();
  calendar->footer(
      "From pairings, locks, ovulations and sheds; from rules of thumb at first, and from your own past the "
      "more of it the book holds.");
  calendar->callback([&session, days] { show_calendar(session, *days); });

  auto* season = app.add_subcommand("season", "How long each step of a season takes, by species");
  season->require_subcommand(1);
  auto species = std::make_shared<std::string>();
  auto* list = season->add_subcommand("list", "The ranges that are used");
  list->add_option("species", *species, "Only this one");
  list->callback([&session, species] { list_season(session, *species); });
  auto word = std::make_shared<std::string>();
  auto range = std::make_shared<std::string>();
  auto* set = season->add_subcommand("set", "Your own range of days");
  set->add_option("species", *species, "As the animals' records call it: \"corn snake\"")->required();
  set->add_option("step", *word, "pairing-to-laying, ovulation-to-shed, shed-to-laying, laying-to-hatching")
      ->required();
  set->add_option("days", *range, "55-62, 60, or none to show nothing")->required();
  set->callback([&session, species, word, range] { set_season(session, *species, *word, *range); });
}

}  // namespace rackside::cli
