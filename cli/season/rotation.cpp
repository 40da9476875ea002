// rotation: who is with whom, and where each male goes next.
#include "core/husbandry/rotation.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "cli/register/fields.h"
#include "cli/season/season.h"
#include "cli/session.h"
#include "core/entry/entry.h"
#include "core/entry/shapes.h"
#include "core/husbandry/season.h"
#include "core/read/rotation_list.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

struct PlanOptions {
  std::string male, in, since;
  std::vector<std::string> females;
  int rest = RotationPlan{}.rest, female_rest = RotationPlan{}.female_rest, locks = RotationPlan{}.locks;
};

std::string days_text(int days) {
  return fmt::format("{} day{}", days, days == 1 ? "" : "s");
}

std::string locks_text(int locks) {
  return locks == 0 ? "no lock seen" : fmt::format("{} lock{} seen", locks, locks == 1 ? "" : "s");
}

// ---- what is shown

void show_pairs(Session& session, Reader& reader, const std::vector<PairNow>& pairs) {
  const Terminal& out = session.terminal;
  out.heading("Together now");
  std::vector<std::vector<std::string>> rows;
  for (const PairNow& pair : pairs)
    rows.push_back({pair.place ? pair.place->label : "–",
                    out.name(pair.visitor.label) + " with " + out.name(pair.host.label),
                    pair.days == 0 ? "since today" : "for " + days_text(pair.days), locks_text(pair.locks),
                    pair.separate ? out.styled(Terminal::Style::warn, "! separate them today") : ""});
  out.table(rows);
  if (rows.empty()) out.line("  Nobody.");
  out.line(out.faint(fmt::format("Without a plan a pair is to be separated after {} (`rotation days N`).",
                                 days_text(days_together(reader)))));
}

std::string skipped_text(Reader& reader, const RotationAdvice& advice) {
  std::string out;
  for (const Skipped& one : advice.skipped)
    out += (out.empty() ? "not " : "; not ") + reader.label(one.female) + ": " + one.why;
  return out;
}

void show_plans(Session& session, Reader& reader, const std::vector<RotationLine>& lines) {
  const Terminal& out = session.terminal;
  out.heading("Each male’s plan");
  for (const RotationLine& line : lines) {
    const RotationAdvice& advice = line.advice;
    const bool moves = advice.out_of || advice.into;
    std::string text = out.name(line.male.label) + "  " +
                       (line.errand.empty() ? "stays alone"
                        : moves             ? out.strong(line.errand)
                                            : line.errand);
    if (advice.into) text += "  with " + out.name(reader.label(*advice.into));
    out.line("  " + text);
    if (!advice.why.empty()) out.line("      " + out.faint(advice.why));
    if (const std::string skipped = skipped_text(reader, advice); !skipped.empty())
      out.line("      " + out.faint(skipped));
  }
  if (lines.empty()) out.line("  None. `rackside rotation set MALE FEMALE FEMALE …` makes one: the females in order.");
}

Json line_json(Reader& reader, const RotationLine& line) {
  Json skipped = Json::array();
  for (const Skipped& one : line.advice.skipped)
    skipped.push_back({{"female", reader.label(one.female)}, {"why", one.why}});
  Json females = Json::array();
  for (const std::int64_t female : line.plan.females) females.push_back(reader.label(female));
  const auto label = [&](const std::optional<std::int64_t>& thing) {
    return thing ? reader.label(*thing) : std::string();
  };
  return {{"male", line.male.label},
          {"errand", line.errand},
          {"why", line.advice.why},
          {"out_of", label(line.advice.out_of)},
          {"stays_with", label(line.advice.stays)},
          {"into", label(line.advice.into)},
          {"into_place", line.into_place ? line.into_place->label : ""},
          {"skipped", skipped},
          {"done", line.advice.done},
          {"females", females},
          {"in", fmt::format("{}-{}", line.plan.in_least, line.plan.in_most)},
          {"rest", line.plan.rest},
          {"female_rest", line.plan.female_rest},
          {"locks", line.plan.locks},
          {"since", date_text(line.plan.since)}};
}

void show_rotation(Session& session) {
  Reader reader = session.reader();
  const std::vector<PairNow> pairs = pairs_now(reader, session.now());
  const std::vector<RotationLine> lines = rotation_list(reader, session.now());
  if (!session.json) {
    show_pairs(session, reader, pairs);
    show_plans(session, reader, lines);
    return;
  }
  Json together = Json::array();
  for (const PairNow& pair : pairs)
    together.push_back({{"visitor", pair.visitor.label},
                        {"host", pair.host.label},
                        {"place", pair.place ? pair.place->label : ""},
                        {"since", date_text(pair.since)},
                        {"days", pair.days},
                        {"locks", pair.locks},
                        {"separate", pair.separate}});
  Json plans = Json::array();
  for (const RotationLine& line : lines) plans.push_back(line_json(reader, line));
  session.terminal.line(Json{{"together", together}, {"plans", plans}}.dump());
}

// ---- what is set

Draft setting(const std::string& key, Value value) {
  return {.kind = Kind::set, .own = Value::Object{{"key", key}, {"value", std::move(value)}}};
}

void refuse_sex(Reader& reader, const Named& animal, const std::string& wrong, const char* place) {
  if (reader.field(animal.thing, "sex") == wrong)
    throw Error(Fault::bad_input,
                fmt::format("By the register {} is a {}: {}. Nothing was recorded.", animal.label, wrong, place));
}

void set_plan(Session& session, const PlanOptions& options) {
  const Named male = session.find_animal(options.male);
  Reader reader = session.reader();
  refuse_sex(reader, male, "female", "name the male first, then his females");
  RotationPlan plan{.rest = options.rest, .female_rest = options.female_rest, .locks = options.locks};
  plan.since = reader.settings().zone.day_of(session.now());
  if (!options.since.empty() && !parse_date(options.since, plan.since))
    throw bad_value("“" + options.since + "” is no day: write it as 2026-09-01.");
  if (!options.in.empty()) {
    const auto range = parse_days(options.in);
    if (!range)
      throw bad_value("“" + options.in + "” is no range of days: write 2-4, or 3. The first is at most the second.");
    plan.in_least = static_cast<int>(range->least);
    plan.in_most = static_cast<int>(range->most);
  }
  for (const std::string& text : options.females) {
    const Named female = session.find_animal(text);
    refuse_sex(reader, female, "male", "a rotation names females");
    plan.females.push_back(female.thing);
  }
  if (const std::string problem = problem_of(plan); !problem.empty())
    throw bad_value("This is no plan: " + problem + ". Nothing was recorded.");
  session.record({setting(rotation_setting(male.code), plan_value(reader, plan))});
  std::string order;
  for (const std::string& text : options.females) order += (order.empty() ? "" : ", ") + text;
  session.terminal.good(fmt::format(
      "{}: {}, {}-{} days with each, {} of rest, {}; counted from {}.", session.terminal.name(male.label), order,
      plan.in_least, plan.in_most, days_text(plan.rest),
      plan.locks == 0 ? "any number of locks" : fmt::format("{} locks wanted", plan.locks), date_text(plan.since)));
}

void end_plan(Session& session, const std::string& text) {
  const Named male = session.find_animal(text);
  session.record({setting(rotation_setting(male.code), Value(std::string()))});
  session.terminal.good(session.terminal.name(male.label) +
                        " has no rotation any more. Whoever is with a female stays until "
                        "somebody separates them.");
}

void set_days(Session& session, int days) {
  session.record({setting(kDaysTogetherSetting, Value(days))});
  session.terminal.good(fmt::format("A pair without a plan is to be separated after {}.", days_text(days)));
}

void set_weight(Session& session, const std::string& species, const std::string& grams) {
  Entry entry;
  if (grams != "none") {
    const std::string problem = shapes::read_grams({grams}, entry);
    if (!problem.empty()) throw bad_value(problem + ".");
  }
  const std::int64_t tenths = entry.own.number("grams_tenths");
  session.record({setting(least_weight_setting(species), Value(tenths))});
  session.terminal.good(tenths == 0
                            ? species + ": no least weight."
                            : fmt::format("{}: females under {} are not paired.", species, shapes::said_grams(tenths)));
}

void add_plan_verbs(CLI::App* verb, Session& session) {
  auto options = std::make_shared<PlanOptions>();
  auto* set = verb->add_subcommand("set", "A male’s plan: his females in order");
  set->add_option("male", options->male, "Code or short ID")->required();
  set->add_option("females", options->females, "His females, in the order of the rotation")->required();
  set->add_option("--in", options->in,
                  "Days with each: he comes out after the first if a lock was seen, else after the second (2-4)");
  set->add_option("--rest", options->rest, "Days alone between two females; 0: out of one, into the next")
      ->capture_default_str();
  set->add_option("--female-rest", options->female_rest, "Days before a female is paired again")->capture_default_str();
  set->add_option("--locks", options->locks, "Locks wanted of each; 0: no matter how many")->capture_default_str();
  set->add_option("--since", options->since, "The season’s first day: what was before does not count (default: today)");
  set->callback([&session, options] { set_plan(session, *options); });
  auto male = std::make_shared<std::string>();
  auto* end = verb->add_subcommand("end", "No rotation any more for a male");
  end->add_option("male", *male, "Code or short ID")->required();
  end->callback([&session, male] { end_plan(session, *male); });
}

}  // namespace

void add_rotation_verb(CLI::App& app, Session& session) {
  auto* verb = app.add_subcommand(
      "rotation", "Who is with whom since when, and where each male goes today: out of B-07, into C-12");
  add_plan_verbs(verb, session);
  auto days = std::make_shared<int>(kUsualDaysTogether);
  auto* together = verb->add_subcommand("days", "After how many days a pair without a plan is to be separated");
  together->add_option("days", *days, "Days")->required()->check(CLI::Range(1, 365));
  together->callback([&session, days] { set_days(session, *days); });
  auto species = std::make_shared<std::string>();
  auto grams = std::make_shared<std::string>();
  auto* weight = verb->add_subcommand("weight", "The least weight at which females of a species are paired");
  weight->add_option("species", *species, "As the animals’ records call it: \"corn snake\"")->required();
  weight->add_option("grams", *grams, "Grams, or none")->required();
  weight->callback([&session, species, grams] { set_weight(session, *species, *grams); });
  verb->footer(
      "Passed over, each with its reason: who is opaque, ate within 48 hours, is light, rests, is under treatment, is "
      "gravid or\n"
      "has laid, has her locks, or has another with her. All numbers are rules of thumb; the animals in front of you "
      "decide.");
  verb->callback([&session, verb] {
    if (verb->get_subcommands().empty()) show_rotation(session);
  });
}

}  // namespace rackside::cli
