// feeding, prey: how often and what animals are fed.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <nlohmann/json.hpp>

#include "cli/care/care.h"
#include "cli/verbs.h"
#include "core/base/words.h"
#include "core/genetics/catalogue.h"
#include "core/read/today.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

struct FeedingOptions {
  std::string who, stage, age, weight, every, prey, share;
  int count = 1;
  bool is_new = false;
  bool count_said = false;
  std::vector<std::string> animals;
};

Error wrong(const std::string& what) {
  return {Fault::usage, what};
}

Interval interval_in(const std::string& text) {
  if (const auto interval = parse_interval(text)) return *interval;
  throw wrong("“" + text + "” is no feeding interval, or an empty one: write days, as 7 or 7-10.");
}

std::string days_text(const Interval& interval) {
  const std::string days = interval.least == interval.most ? std::to_string(interval.least)
                                                           : fmt::format("{}–{}", interval.least, interval.most);
  return "every " + days + (interval.most == 1 ? " day" : " days");
}

std::string food_text(const Stage& stage) {
  if (stage.share) return range_text(*stage.share) + " % of body weight";
  if (stage.prey.empty()) return "";
  return stage.count > 1 ? fmt::format("{} × {}", stage.count, stage.prey) : stage.prey;
}

std::optional<Named> animal_named(Session& session, const std::string& text) {
  Reader reader = session.reader();
  const bool code = read_code(text).code.has_value();
  return code || !reader.with_short_id(text).empty() ? std::optional(session.find_animal(text)) : std::nullopt;
}

/// A plan is named by a species or a class that somebody is in, or that has a plan already; else it must be said that a
/// new one is meant, so that a slip of the finger makes none.
std::string plan_named(Session& session, const FeedingOptions& options) {
  Reader reader = session.reader();
  const std::string name = genetics::plain_name(options.who);
  std::vector<std::string> known;
  for (const auto& list : {species_in(reader), classes_in(reader)}) {
    for (const std::string& one : list) known.push_back(genetics::plain_name(one));
  }
  for (const auto& [plan, stages] : care_settings(reader).plans) known.push_back(plan);
  if (name.empty()) throw wrong("Of whom? Name a species, a class of yours or an animal.");
  if (options.is_new || std::find(known.begin(), known.end(), name) != known.end()) return name;
  std::string near;
  for (const std::string& one : known) {
    if (edit_distance(one, name) <= std::max<std::size_t>(1, name.size() / 4)) near = one;
  }
  throw wrong("“" + options.who + "” is no animal, no species and no class in this book." +
              (near.empty() ? "" : " Did you mean “" + near + "”?") +
              " For a new class of your own say --new, and put animals into it with `rackside feeding use`.");
}

// ---- set

Stage stage_of(const FeedingOptions& options, const FeedingPlan& plan) {
  Stage stage;
  const auto known =
      std::find_if(plan.begin(), plan.end(), [&](const Stage& one) { return one.name == options.stage; });
  if (known != plan.end()) stage = *known;
  stage.name = options.stage;
  if (!options.age.empty() && !options.weight.empty())
    throw wrong("A stage goes by --age or by --weight, not by both.");
  if (!options.age.empty() && !parse_age_range(options.age, stage))
    throw wrong("“" + options.age + "” is no range of age: write 0-6m, 6m-2y, 90-180d, or 2y- for from there on.");
  if (!options.weight.empty() && !parse_weight_range(options.weight, stage))
    throw wrong("“" + options.weight + "” is no range of weight: write 0-50g, 50-200, or 200g- for from there on.");
  if (!options.every.empty()) stage.interval = interval_in(options.every);
  if (known == plan.end() && options.every.empty()) throw wrong("How often? A stage needs --every, as --every 7-10.");
  if (!options.prey.empty()) {
    stage.prey = options.prey == "none" ? "" : prey_name(options.prey);
    stage.share.reset();
  }
  if (options.count_said) stage.count = options.count;
  if (!options.share.empty()) {
    stage.share = parse_share(options.share);
    if (!stage.share)
      throw wrong("“" + options.share + "” is no share of body weight: write per cent, as 10 or 10-15, at most 60.");
    stage.prey.clear();
    stage.count = 1;
  }
  if (stage.by != StageBy::always && stage.name.empty())
    throw wrong("A stage that holds for an age or a weight needs a name of yours: --stage hatchling.");
  return stage;
}

void tell_plan(Session& session, const std::string& name, const FeedingPlan& plan) {
  session.terminal.good("Plan " + session.terminal.strong(name) + ":");
  std::vector<std::vector<std::string>> rows;
  for (const Stage& stage : plan) {
    rows.push_back({"  " + (stage.name.empty() ? std::string("always") : stage.name), reach_text(stage),
                    days_text(stage.interval), food_text(stage)});
  }
  session.terminal.table(rows);
}

void set_plan(Session& session, const FeedingOptions& options) {
  const std::string name = plan_named(session, options);
  Reader reader = session.reader();
  const CareSettings settings = care_settings(reader);
  const auto known = settings.plans.find(name);
  FeedingPlan plan = known == settings.plans.end() ? FeedingPlan{} : known->second;
  const Stage stage = stage_of(options, plan);
  const auto place = std::find_if(plan.begin(), plan.end(), [&](const Stage& one) { return one.name == stage.name; });
  if (place == plan.end()) {
    plan.push_back(stage);
  } else {
    *place = stage;
  }
  std::stable_sort(plan.begin(), plan.end(), [](const Stage& a, const Stage& b) { return a.from < b.from; });
  if (const std::string problem = problem_of(plan); !problem.empty())
    throw wrong(problem + " Nothing was changed; `rackside feeding show \"" + name + "\"` shows what holds.");
  record_setting(session, plan_setting(name), value_of(plan));
  if (session.json) return session.terminal.line(Json{{"plan", name}, {"stages", plan.size()}}.dump());
  tell_plan(session, name, plan);
}

void set_animal(Session& session, const Named& animal, const FeedingOptions& options) {
  if (!options.stage.empty() || !options.age.empty() || !options.weight.empty() || !options.share.empty() ||
      options.count_said)
    throw wrong(
        "One animal has an interval and a prey of its own (--every, --prey). Stages, shares and counts belong "
        "to the plan of a species or of a class.");
  Value set = Value::Object{};
  if (!options.every.empty())
    set.set("every", options.every == "none" ? std::string() : text_of(interval_in(options.every)));
  if (!options.prey.empty()) set.set("prey", options.prey == "none" ? std::string() : prey_name(options.prey));
  if (set.as_object()->empty()) throw wrong("Say what holds for " + animal.label + ": --every 7-10, --prey small-rat.");
  record_fields(session, animal, set);
  if (session.json) return session.terminal.line(Json{{"animal", animal.label}}.dump());
  session.terminal.good("Changed for " + session.terminal.name(animal.label) +
                        " alone; `--every none` or `--prey none` goes back to the plan.");
}

void set_feeding(Session& session, const FeedingOptions& options) {
  if (const auto animal = options.is_new ? std::nullopt : animal_named(session, options.who))
    return set_animal(session, *animal, options);
  set_plan(session, options);
}

void drop_plan(Session& session, const FeedingOptions& options) {
  Reader reader = session.reader();
  const std::string name = genetics::plain_name(options.who);
  const CareSettings settings = care_settings(reader);
  const auto known = settings.plans.find(name);
  if (known == settings.plans.end())
    throw wrong("There is no plan “" + options.who + "”; `rackside feeding` lists them.");
  FeedingPlan plan = known->second;
  if (!options.stage.empty()) {
    if (std::erase_if(plan, [&](const Stage& one) { return one.name == options.stage; }) == 0)
      throw wrong("The plan “" + name + "” has no stage “" + options.stage + "”.");
  } else {
    plan.clear();
  }
  record_setting(session, plan_setting(name), plan.empty() ? Value(std::string()) : value_of(plan));
  if (session.json) return session.terminal.line(Json{{"plan", name}, {"stages", plan.size()}}.dump());
  if (plan.empty()) return session.terminal.good("No plan “" + name + "” any more: the rule of thumb holds again.");
  tell_plan(session, name, plan);
}

void use_plan(Session& session, const FeedingOptions& options) {
  const bool none = options.who == "none";
  const std::string name = none ? "" : genetics::plain_name(options.who);
  Reader reader = session.reader();
  if (!none && !care_settings(reader).plans.contains(name))
    throw wrong("There is no plan “" + options.who + "” yet. Make it first: `rackside feeding set \"" + options.who +
                "\" --new --every 7-10`.");
  std::vector<Named> animals;
  for (const std::string& text : options.animals) animals.push_back(session.find_animal(text));
  for (const Named& animal : animals) record_fields(session, animal, Value::Object{{"plan", name}});
  if (session.json) return session.terminal.line(Json{{"plan", name}, {"animals", animals.size()}}.dump());
  session.terminal.good(fmt::format("{} animal{} {}.", animals.size(), animals.size() == 1 ? "" : "s",
                                    none ? "without a class now: by species" : "fed by “" + name + "” now"));
}

// ---- show

std::string state_text(const MealState& meal) {
  const auto nights = [&](const char* text) {
    return fmt::format("{} {} night{}", text, meal.days, meal.days == 1 ? "" : "s");
  };
  switch (meal.state) {
    case Meal::early:
      return nights("early: due in");
    case Meal::due:
      return meal.days == 0 ? "due tonight" : nights("due since");
    case Meal::overdue:
      return nights("overdue by");
    case Meal::none_yet:
      return "due: no meal in this book yet";
    case Meal::waits:
      return "food is in the tub: look in the morning";
    case Meal::contradicted:
      return "accounts disagree: check the tub";
    case Meal::opaque:
      return "opaque: not fed until it shed";
    case Meal::rests:
      return "rests after a regurgitation";
    case Meal::fasts:
      return "fasts on purpose";
    default:
      return "gravid: not fed, by your setting";
  }
}

void show_animal(Session& session, Reader& reader, const Named& animal) {
  const CareSettings settings = care_settings(reader);
  const Moment moment = moment_of(reader.settings(), session.now());
  const BoardRow row = work_out(reader, settings, animal.thing, session.now());
  const AnimalFacts facts = facts_on(row, settings, moment.today);
  const Diet diet = diet_on(row, settings, moment.today);
  const MealState meal = meal_state(facts, settings.limits, moment);
  if (session.json) {
    Json one = {{"animal", animal.label},     {"least", diet.interval.least},
                {"most", diet.interval.most}, {"interval_by", diet.by},
                {"prey", diet.prey},          {"count", diet.count},
                {"prey_by", diet.prey_by},    {"state", state_text(meal)},
                {"days", meal.days},          {"resting", rests_after_meal(facts, settings.limits, moment)}};
    if (diet.grams) one["grams_tenths"] = {diet.grams->least, diet.grams->most};
    if (facts.fast) one["fast"] = text_of(*facts.fast);
    return session.terminal.line(one.dump());
  }
  const Terminal& out = session.terminal;
  std::vector<std::vector<std::string>> rows = {
      {"  interval", days_text(diet.interval), out.faint(diet.by)},
      {"  prey", diet.prey.empty() && !diet.grams ? "not said" : meal_text(diet), out.faint(diet.prey_by)},
      {"  tonight", state_text(meal), ""}};
  if (facts.fast)
    rows.push_back({"  fast", date_text(facts.fast->from) + " to " + date_text(facts.fast->to), facts.fast->why});
  if (rests_after_meal(facts, settings.limits, moment))
    rows.push_back(
        {"  rest", "it ate lately: do not pair, weigh, move or ship it",
         out.faint(fmt::format("{} hours (setting meal-rest-hours)", settings.limits[Limit::meal_rest_hours]))});
  out.line(out.name(animal.label));
  out.table(rows);
}

void show_plans(Session& session, Reader& reader, const std::string& only) {
  const CareSettings settings = care_settings(reader);
  Json list = Json::array();
  std::vector<std::vector<std::string>> rows;
  for (const auto& [name, plan] : settings.plans) {
    if (!only.empty() && name != only) continue;
    for (const Stage& stage : plan) {
      rows.push_back({session.terminal.strong(&stage == &plan.front() ? name : ""), stage.name, reach_text(stage),
                      days_text(stage.interval), food_text(stage)});
      list.push_back({{"plan", name},
                      {"stage", stage.name},
                      {"holds", reach_text(stage)},
                      {"least", stage.interval.least},
                      {"most", stage.interval.most},
                      {"food", food_text(stage)}});
    }
  }
  if (session.json) return session.terminal.line(list.dump());
  if (rows.empty()) session.terminal.line(only.empty() ? "No plan is set." : "There is no plan “" + only + "”.");
  session.terminal.table(rows);
  session.terminal.line(session.terminal.faint(
      "An animal's own interval and prey come first, then its class, then its species; else hatchlings eat every 5–7 "
      "days and adults every 10–14 (rule of thumb)."));
}

void show_feeding(Session& session, const FeedingOptions& options) {
  Reader reader = session.reader();
  if (!options.who.empty()) {
    if (const auto animal = animal_named(session, options.who)) return show_animal(session, reader, *animal);
    return show_plans(session, reader, genetics::plain_name(options.who));
  }
  show_plans(session, reader, "");
}

// ---- prey

void list_prey(Session& session) {
  Reader reader = session.reader();
  Json list = Json::array();
  std::vector<std::vector<std::string>> rows;
  for (const auto& [name, grams] : care_settings(reader).preys) {
    rows.push_back({name, range_text(grams) + " g"});
    list.push_back({{"prey", name}, {"least_tenths", grams.least}, {"most_tenths", grams.most}});
  }
  if (session.json) return session.terminal.line(list.dump());
  if (rows.empty()) return session.terminal.line("No prey has a weight yet: `rackside prey set small-rat 50-80`.");
  session.terminal.table(rows);
}

void set_prey(Session& session, const std::string& text, const std::string& grams) {
  const std::string name = prey_name(text);
  const bool none = grams == "none";
  if (name.empty()) throw wrong("Which prey? Write a name of your own: small-rat.");
  if (!none && !parse_grams_range(grams))
    throw wrong("“" + grams + "” is no weight of a prey: write grams, as 20, 50-80 or 1.5-3.");
  record_setting(session, prey_setting(name), none ? std::string() : grams);
  if (session.json) return session.terminal.line(Json{{"prey", name}}.dump());
  session.terminal.good(none ? name + " has no weight any more."
                             : name + " weighs " + range_text(*parse_grams_range(grams)) + " g.");
}

void add_prey_verb(CLI::App& app, Session& session) {
  auto* prey = app.add_subcommand("prey", "Your own names of prey, and what each weighs");
  prey->require_subcommand(0, 1);
  prey->callback([&session, prey] {
    if (prey->get_subcommands().empty()) list_prey(session);
  });
  prey->add_subcommand("list", "All that have a weight")->callback([&session] { list_prey(session); });
  auto name = std::make_shared<std::string>();
  auto grams = std::make_shared<std::string>();
  auto* set = prey->add_subcommand("set", "What one weighs: `prey set small-rat 50-80`");
  set->add_option("prey", *name, "Your name for it")->required();
  set->add_option("grams", *grams, "50-80, 20, 1.5-3; none to forget it")->required();
  set->callback([&session, name, grams] { set_prey(session, *name, *grams); });
}

}  // namespace

void add_feeding_verbs(CLI::App& app, Session& session) {
  auto* feeding = app.add_subcommand("feeding", "How often and what: by species, by classes of yours, by animal");
  feeding->require_subcommand(0, 1);
  auto options = std::make_shared<FeedingOptions>();
  feeding->callback([&session, feeding] {
    if (feeding->get_subcommands().empty()) show_feeding(session, {});
  });

  auto* show = feeding->add_subcommand("show", "All plans, one plan, or what holds for an animal and why");
  show->add_option("who", options->who, "An animal, or a plan's name");
  show->callback([&session, options] { show_feeding(session, *options); });

  auto* set = feeding->add_subcommand("set", "Change a plan, or what holds for one animal");
  set->add_option("who", options->who, "A species as records call it, a class of yours, or an animal")->required();
  set->add_option("--every", options->every, "Days between meals: 7 or 7-10");
  set->add_option("--prey", options->prey, "Your name of the prey; none: not said");
  auto* count = set->add_option("--count", options->count, "How many of it a meal")->check(CLI::Range(1, 99));
  set->add_option("--share", options->share, "Per cent of body weight instead of a prey: 10-15");
  set->add_option("--stage", options->stage, "A life stage, named by you: hatchling");
  set->add_option("--age", options->age, "When the stage holds: 0-6m, 6m-2y, 2y-");
  set->add_option("--weight", options->weight, "Or by weight: 0-50g, 50-200g, 200g-");
  set->add_flag("--new", options->is_new, "A new class of your own is meant");
  set->footer(
      "rackside feeding set \"corn snake\" --stage hatchling --age 0-6m --every 5-7 --prey pinky\n"
      "rackside feeding set \"corn snake\" --stage grown --age 6m- --every 10-14 --share 8-12\n"
      "rackside feeding set breeders --new --every 7 --prey adult-mouse --count 2\n"
      "rackside feeding set C-14 --every 14");
  set->callback([&session, options, count] {
    options->count_said = count->count() > 0;
    set_feeding(session, *options);
  });

  auto* drop = feeding->add_subcommand("drop", "Take a plan back, or one stage of it");
  drop->add_option("plan", options->who, "Its name")->required();
  drop->add_option("--stage", options->stage, "Only this stage");
  drop->callback([&session, options] { drop_plan(session, *options); });

  auto* use = feeding->add_subcommand("use", "Feed animals by a class of yours: `feeding use breeders C-14 C-15`");
  use->add_option("class", options->who, "Its name; none: by species again")->required();
  use->add_option("animals", options->animals, "Codes or short IDs")->required();
  use->callback([&session, options] { use_plan(session, *options); });

  add_prey_verb(app, session);
}

}  // namespace rackside::cli
