// limits, fast.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>
#include <nlohmann/json.hpp>

#include "cli/care/care.h"
#include "cli/verbs.h"
#include "core/genetics/catalogue.h"
#include "core/read/today.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

// ---- limits

void list_limits(Session& session) {
  Reader reader = session.reader();
  const CareSettings settings = care_settings(reader);
  Json list = Json::array();
  std::vector<std::vector<std::string>> rows;
  for (const LimitInfo& one : limit_table()) {
    const bool own = settings.limits[one.limit] != one.usual;
    list.push_back({{"limit", one.word}, {"value", settings.limits[one.limit]}, {"usual", one.usual}, {"own", own}});
    rows.push_back({std::string(one.word), session.terminal.strong(std::to_string(settings.limits[one.limit])),
                    std::string(one.help),
                    session.terminal.faint(own ? fmt::format("yours; usual {}", one.usual) : std::string(one.basis))});
  }
  if (session.json) return session.terminal.line(list.dump());
  session.terminal.table(rows);
}

void set_limit(Session& session, const std::string& word, const std::string& text) {
  const auto limit = limit_of(word);
  if (!limit) {
    std::vector<std::string> all;
    for (const LimitInfo& one : limit_table()) all.emplace_back(one.word);
    throw Error(Fault::usage, "There is no limit “" + word + "”: " + list_of(all) + ".");
  }
  const LimitInfo& info = info_of(*limit);
  int value = info.usual;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool number = error == std::errc{} && end == text.data() + text.size();
  if (text != "usual" && (!number || value < info.least || value > info.most)) {
    throw Error(Fault::usage, fmt::format("“{}” is no value for {}: a whole number from {} to {}, or usual ({}).", text,
                                          word, info.least, info.most, info.usual));
  }
  record_setting(session, limit_setting(*limit), text == "usual" ? info.usual : value);
  if (session.json) return session.terminal.line(Json{{"limit", word}, {"value", value}}.dump());
  session.terminal.good(fmt::format("{}: {} from now on ({}).", word, value, info.help));
}

// ---- fast

struct FastOptions {
  std::string who, from, to, sex, why = "other";
};

DayNumber day_in(const std::string& text) {
  DayNumber day = 0;
  if (parse_date(text, day)) return day;
  throw Error(Fault::usage, "“" + text + "” is no date: write 2026-12-01.");
}

/// A species, with a sex or without: the key of its setting, without the prefix.
std::string species_key(Session& session, const FastOptions& options) {
  Reader reader = session.reader();
  const std::string name = genetics::plain_name(options.who);
  std::vector<std::string> known = species_in(reader);
  for (std::string& one : known) one = genetics::plain_name(one);
  if (std::find(known.begin(), known.end(), name) == known.end())
    throw Error(Fault::unknown_code, "“" + options.who + "” is no animal and no species in this book.");
  return options.sex.empty() ? name : name + "/" + options.sex;
}

std::optional<Named> animal_named(Session& session, const std::string& text) {
  Reader reader = session.reader();
  const bool known = read_code(text).code.has_value() || !reader.with_short_id(text).empty();
  return known ? std::optional(session.find_animal(text)) : std::nullopt;
}

void record_fast(Session& session, const FastOptions& options, const std::string& text, const std::string& told) {
  if (const auto animal = animal_named(session, options.who)) {
    if (!options.sex.empty()) throw Error(Fault::usage, "--sex is for a species: all its males, or all its females.");
    record_fields(session, *animal, Value::Object{{"fast", text}});
  } else {
    record_setting(session, fast_setting(species_key(session, options)), text);
  }
  if (session.json) return session.terminal.line(Json{{"who", options.who}, {"fast", text}}.dump());
  session.terminal.good(options.who + (options.sex.empty() ? "" : ", " + options.sex + "s") + told);
}

void set_fast(Session& session, const FastOptions& options) {
  const Fast fast{day_in(options.from), day_in(options.to), options.why};
  if (fast.to < fast.from)
    throw Error(Fault::usage, "The fast is empty: " + options.to + " is before " + options.from + ".");
  constexpr int kLongest = 366;
  if (fast.to - fast.from > kLongest)
    throw Error(Fault::usage, "A fast of over a year is a mistake in a date. Write a shorter one; it can be set anew.");
  record_fast(
      session, options, text_of(fast),
      fmt::format(": no food from {} to {} ({}); it is not told as off feed.", options.from, options.to, options.why));
}

void list_fasts(Session& session) {
  Reader reader = session.reader();
  const DayNumber today = reader.settings().zone.day_of(session.now());
  Json list = Json::array();
  std::vector<std::vector<std::string>> rows;
  const auto add = [&](const std::string& who, const Fast& fast) {
    const std::string state = fast.to < today ? "over" : fast.from > today ? "to come" : "now";
    list.push_back({{"who", who},
                    {"from", date_text(fast.from)},
                    {"to", date_text(fast.to)},
                    {"why", fast.why},
                    {"state", state}});
    rows.push_back({session.terminal.name(who), date_text(fast.from) + " to " + date_text(fast.to), fast.why,
                    session.terminal.faint(state)});
  };
  for (const auto& [who, fast] : care_settings(reader).fasts) add(who, fast);
  for (const Named& animal : reader.all("animal")) {
    if (const auto fast = parse_fast(reader.field(animal.thing, "fast"))) add(animal.label, *fast);
  }
  if (session.json) return session.terminal.line(list.dump());
  if (rows.empty())
    return session.terminal.line(
        "Nobody fasts on purpose: `rackside fast set C-14 2026-12-01 2027-02-28 --why cooling`.");
  session.terminal.table(rows);
}

void add_fast_verb(CLI::App& app, Session& session) {
  auto* fast = app.add_subcommand("fast", "Times without food on purpose: cooling, breeding males");
  fast->require_subcommand(0, 1);
  fast->callback([&session, fast] {
    if (fast->get_subcommands().empty()) list_fasts(session);
  });
  fast->add_subcommand("list", "All of them")->callback([&session] { list_fasts(session); });
  auto options = std::make_shared<FastOptions>();
  auto* set = fast->add_subcommand("set", "`fast set \"corn snake\" 2026-12-01 2027-02-28 --why cooling`");
  set->add_option("who", options->who, "An animal, or a species")->required();
  set->add_option("from", options->from, "First day")->required();
  set->add_option("to", options->to, "Last day")->required();
  set->add_option("--sex", options->sex, "Of a species only the males, or the females")
      ->check(CLI::IsMember({"male", "female"}));
  set->add_option("--why", options->why, "cooling, breeding, veterinarian, shipping, other")
      ->check(CLI::IsMember({"cooling", "breeding", "veterinarian", "shipping", "other"}))
      ->capture_default_str();
  set->footer("An animal's own fast comes before its species'. Cool only healthy animals of a species that needs it.");
  set->callback([&session, options] { set_fast(session, *options); });
  auto* end = fast->add_subcommand("end", "Take a fast back");
  end->add_option("who", options->who, "An animal, or a species")->required();
  end->add_option("--sex", options->sex, "As it was set")->check(CLI::IsMember({"male", "female"}));
  end->callback([&session, options] { record_fast(session, *options, "", ": no fast any more."); });
}

}  // namespace

void add_limit_verbs(CLI::App& app, Session& session) {
  auto* limits = app.add_subcommand("limits", "The limits behind the day's list and its signs; each can be changed");
  limits->require_subcommand(0, 1);
  limits->callback([&session, limits] {
    if (limits->get_subcommands().empty()) list_limits(session);
  });
  limits->add_subcommand("list", "All of them, and where the usual values are from")->callback([&session] {
    list_limits(session);
  });
  auto word = std::make_shared<std::string>();
  auto value = std::make_shared<std::string>();
  auto* set = limits->add_subcommand("set", "`limits set weight-loss-percent 12`");
  set->add_option("limit", *word, "Its name in the list")->required();
  set->add_option("value", *value, "A whole number, or usual")->required();
  set->callback([&session, word, value] { set_limit(session, *word, *value); });
  add_fast_verb(app, session);
}

}  // namespace rackside::cli
