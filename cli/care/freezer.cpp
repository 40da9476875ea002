// thaw, freezer, leftovers.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "cli/care/care.h"
#include "cli/verbs.h"
#include "core/read/freezer.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

struct FreezerOptions {
  std::string prey, night = "tomorrow";
  int count = 0;
};

std::string plural(int count, const std::string& one) {
  return fmt::format("{} {}{}", count, one, count == 1 ? "" : "s");
}

// ---- thaw

int nights_ahead(Session& session, const std::string& text) {
  if (text == "tonight") return 0;
  if (text == "tomorrow") return 1;
  Reader reader = session.reader();
  DayNumber day = 0;
  const DayNumber tonight = evening(reader.settings(), session.now());
  constexpr int kFarthest = 60;
  if (parse_date(text, day) && day >= tonight && day <= tonight + kFarthest) return day - tonight;
  throw Error(Fault::usage, "“" + text + "” is no night to thaw for: tonight, tomorrow, or a date from " +
                                date_text(tonight) + " on.");
}

Json thaw_json(const ThawPlan& plan, const std::map<std::string, Stock>& stock) {
  Json items = Json::array();
  for (const ThawItem& item : plan.items) {
    Json one = {{"prey", item.prey}, {"wanted", item.wanted}, {"margin", item.margin}, {"thaw", item.all()}};
    const auto held = stock.find(item.prey);
    if (held != stock.end() && held->second.left) one["left_before"] = *held->second.left;
    items.push_back(one);
  }
  return {{"night", date_text(plan.night)},
          {"items", items},
          {"to_feed", plan.to_feed},
          {"unknown_prey", plan.unknown},
          {"due_tonight_already", plan.tonight_already},
          {"left_out", plan.left_out}};
}

void thaw(Session& session, const FreezerOptions& options) {
  const int ahead = nights_ahead(session, options.night);
  Reader reader = session.reader();
  const CareSettings settings = care_settings(reader);
  const ThawPlan plan = thaw_plan(reader, settings, session.now(), ahead);
  const auto stock = freezer(reader, settings, session.now());
  if (session.json) return session.terminal.line(thaw_json(plan, stock).dump());
  const Terminal& out = session.terminal;
  out.line(out.strong("Thaw for the night of " + date_text(plan.night)) + "   " + plural(plan.to_feed, "animal") +
           " to feed");
  std::vector<std::vector<std::string>> rows;
  for (const ThawItem& item : plan.items) {
    const auto held = stock.find(item.prey);
    std::string after = out.faint("not counted: `rackside freezer count " + item.prey + " N`");
    if (held != stock.end() && held->second.left) {
      const int left = *held->second.left - item.all();
      after = left < 0 ? out.styled(Terminal::Style::warn, fmt::format("! {} too few in the freezer", -left))
                       : out.faint(fmt::format("{} left then", left));
    }
    rows.push_back({"  " + out.strong(fmt::format("{:>4}", item.all())), item.prey,
                    out.faint(fmt::format("{} + {} spare", item.wanted, item.margin)), after});
  }
  out.table(rows);
  if (plan.unknown > 0)
    out.warn(fmt::format("{} more to feed, but nobody said with what: `rackside feeding show` tells.", plan.unknown));
  for (const auto& [why, count] : plan.left_out) out.line(out.faint(fmt::format("  not counted: {} ({})", count, why)));
  if (ahead > 0 && plan.tonight_already > 0)
    out.line(
        out.faint(fmt::format("  {} of them are due tonight already: whoever eats tonight is not counted afterwards.",
                              plan.tonight_already)));
  out.line(out.faint("  Thaw in the fridge, warm before feeding, never freeze again what was thawed."));
}

// ---- freezer

Json stock_json(const std::string& prey, const Stock& stock, int order_days) {
  Json one = {{"prey", prey}, {"used_28_days", stock.used}};
  if (stock.left) one["left"] = *stock.left;
  if (stock.lasts) one["lasts_days"] = *stock.lasts;
  one["order"] = stock.lasts && *stock.lasts <= order_days;
  return one;
}

void show_freezer(Session& session) {
  Reader reader = session.reader();
  const CareSettings settings = care_settings(reader);
  const int order_days = settings.limits[Limit::order_days];
  const DayNumber today = reader.settings().zone.day_of(session.now());
  Json list = Json::array();
  std::vector<std::vector<std::string>> rows;
  for (const auto& [prey, stock] : freezer(reader, settings, session.now())) {
    list.push_back(stock_json(prey, stock, order_days));
    std::string left = "not counted";
    if (stock.left)
      left = *stock.left < 0 ? "more was fed than came in: count it" : fmt::format("{} left", *stock.left);
    std::string lasts;
    if (stock.lasts) {
      lasts = "lasts " + plural(*stock.lasts, "day");
      lasts = *stock.lasts <= order_days ? session.terminal.styled(Terminal::Style::warn, "! " + lasts + ": order now")
                                         : lasts + ", order by " + date_text(today + *stock.lasts - order_days);
    }
    rows.push_back(
        {prey, left, session.terminal.faint(fmt::format("{} used in {} days", stock.used, kDaysOfUse)), lasts});
  }
  if (session.json) return session.terminal.line(list.dump());
  if (rows.empty())
    return session.terminal.line(
        "The freezer is empty by this book: `rackside freezer add small-rat 200`, or `count` what is there.");
  session.terminal.table(rows);
}

enum class Stocking : std::uint8_t { added, counted };

void stock(Session& session, const FreezerOptions& options, Stocking how) {
  const std::string prey = prey_name(options.prey);
  if (prey.empty()) throw Error(Fault::usage, "Which prey? Write your name for it: small-rat.");
  Reader before = session.reader();
  const CareSettings settings = care_settings(before);
  const auto known = freezer(before, settings, session.now());
  Value own = Value::Object{{"prey", prey}, {"count", options.count}};
  if (how == Stocking::counted) own.set("counted", true);
  session.record({{.kind = Kind::stocked, .own = own}});
  Reader reader = session.reader();
  const auto now = freezer(reader, settings, session.now());
  const auto held = now.find(prey);
  const int left = held == now.end() ? 0 : held->second.left.value_or(0);
  if (session.json) return session.terminal.line(Json{{"prey", prey}, {"left", left}}.dump());
  session.terminal.good(fmt::format("{}: {} in the freezer now.", prey, left));
  if (!known.contains(prey) && !settings.preys.contains(prey))
    session.terminal.line(session.terminal.faint(
        "  A name that no meal and no setting has used yet. Mistyped? `rackside freezer count " + prey + " 0`."));
}

// ---- leftovers

std::string meal_text_of(const MealState& meal) {
  if (meal.state == Meal::early) return fmt::format("due in {}", plural(meal.days, "night"));
  if (meal.state == Meal::overdue) return fmt::format("overdue by {}", plural(meal.days, "night"));
  return meal.state == Meal::none_yet ? "no meal in this book yet" : "due";
}

void leftovers(Session& session, const FreezerOptions& options) {
  const std::string prey = prey_name(options.prey);
  Reader reader = session.reader();
  const CareSettings settings = care_settings(reader);
  const auto takers = takers_of(reader, settings, session.now(), prey, static_cast<std::size_t>(options.count));
  Json list = Json::array();
  std::vector<std::vector<std::string>> rows;
  for (const Taker& one : takers) {
    const std::string place = one.place ? one.place->label : "";
    list.push_back(
        {{"animal", one.animal.label}, {"place", place}, {"rack", one.rack}, {"why", meal_text_of(one.meal)}});
    rows.push_back({place, session.terminal.name(one.animal.label), session.terminal.faint(meal_text_of(one.meal))});
  }
  if (session.json) return session.terminal.line(list.dump());
  if (rows.empty())
    return session.terminal.line("Nobody is due who gets " + prey + " and has not been offered food tonight.");
  session.terminal.table(rows);
  if (takers.size() < static_cast<std::size_t>(options.count))
    session.terminal.line(
        fmt::format("{} remain.", plural(options.count - static_cast<int>(takers.size()), "leftover")));
  session.terminal.line(session.terminal.faint(
      "Only what was in nobody's tub: prey that lay with one animal can carry its mites and germs to the next."));
}

}  // namespace

void add_freezer_verbs(CLI::App& app, Session& session) {
  auto options = std::make_shared<FreezerOptions>();
  auto* thaw_verb = app.add_subcommand("thaw", "What to thaw: by prey and number, less those who will not eat");
  thaw_verb->add_option("--for", options->night, "tonight, tomorrow, or a date")->capture_default_str();
  thaw_verb->callback([&session, options] { thaw(session, *options); });

  auto* freezer_verb = app.add_subcommand("freezer", "What is left in the freezer, how long it lasts, when to order");
  freezer_verb->require_subcommand(0, 1);
  freezer_verb->callback([&session, freezer_verb] {
    if (freezer_verb->get_subcommands().empty()) show_freezer(session);
  });
  auto* add = freezer_verb->add_subcommand("add", "A delivery: `freezer add small-rat 200`; below 0: thrown away");
  auto* count = freezer_verb->add_subcommand("count", "So many are there now, whatever was believed");
  for (CLI::App* verb : {add, count}) {
    verb->add_option("prey", options->prey, "Your name for it")->required();
    verb->add_option("count", options->count, "How many")
        ->required()
        ->check(CLI::Range(verb == add ? -100000 : 0, 100000));
  }
  add->callback([&session, options] { stock(session, *options, Stocking::added); });
  count->callback([&session, options] { stock(session, *options, Stocking::counted); });

  auto* left = app.add_subcommand("leftovers", "Who could take what is left tonight: `leftovers small-rat 3`");
  left->add_option("prey", options->prey, "Your name for it")->required();
  left->add_option("count", options->count, "How many are left")->required()->check(CLI::Range(1, 999));
  left->callback([&session, options] { leftovers(session, *options); });
}

}  // namespace rackside::cli
