// hatchlings: who has not begun to eat and what was tried, who is ready.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "cli/season/season.h"
#include "cli/session.h"
#include "cli/wording.h"
#include "core/read/hatchling_list.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;
using Stage = YoungState::Stage;

struct HatchlingOptions {
  int days = 400;
  bool ready = false, not_begun = false;
};

std::string tried_text(const YoungState& state) {
  std::string out;
  for (const Tried& one : state.tried)
    out += (out.empty() ? "" : ", ") + fmt::format("{}× {}{}", one.times, one.prey.empty() ? "as usual" : one.prey,
                                                   one.how.empty() ? "" : " (" + one.how + ")");
  return out;
}

std::string joined(const std::vector<std::string>& parts) {
  std::string out;
  for (const std::string& part : parts) out += (out.empty() ? "" : ", ") + part;
  return out;
}

std::string about(const YoungState& state) {
  std::string out;
  const auto add = [&](const std::string& text) {
    if (!text.empty()) out += (out.empty() ? "" : "; ") + text;
  };
  if (state.stage == Stage::not_begun) {
    add(state.tried.empty() ? "nothing was refused yet" : "refused " + tried_text(state));
    if (state.assisted > 0) add(fmt::format("{} with help", state.assisted));
  }
  if (state.meals > 0 && state.stage != Stage::ready)
    add(fmt::format("{} meal{} without help", state.meals, state.meals == 1 ? "" : "s"));
  if (state.stage != Stage::not_begun && state.stage != Stage::ready && !state.missing.empty())
    add("missing: " + joined(state.missing));
  add(joined(state.kept_for));
  return out;
}

Terminal::Style style_of(Stage stage) {
  return stage == Stage::ready                               ? Terminal::Style::good
         : stage == Stage::not_begun || stage == Stage::kept ? Terminal::Style::warn
                                                             : Terminal::Style::plain;
}

Json line_json(const HatchlingLine& line) {
  Json tried = Json::array();
  for (const Tried& one : line.state.tried)
    tried.push_back({{"prey", one.prey}, {"how", one.how}, {"times", one.times}, {"last", date_text(one.last)}});
  return {{"animal", line.animal.label},
          {"code", line.animal.code},
          {"place", line.place ? line.place->label : ""},
          {"sex", line.sex},
          {"hatched", date_text(line.hatched)},
          {"group", line.is_group},
          {"stage", word_of(line.state.stage)},
          {"meals", line.state.meals},
          {"assisted", line.state.assisted},
          {"first_shed", line.state.first_shed ? date_text(*line.state.first_shed) : ""},
          {"tried", tried},
          {"missing", line.state.missing},
          {"kept_for", line.state.kept_for}};
}

void show_hatchlings(Session& session, const HatchlingOptions& options) {
  Reader reader = session.reader();
  const DayNumber today = reader.settings().zone.day_of(session.now());
  std::vector<HatchlingLine> list = hatchling_list(reader, session.now(), options.days);
  int counts[5] = {};
  for (const HatchlingLine& line : list) ++counts[static_cast<std::size_t>(line.state.stage)];
  std::erase_if(list, [&](const HatchlingLine& line) {
    return (options.ready && line.state.stage != Stage::ready) ||
           (options.not_begun && line.state.stage != Stage::not_begun);
  });
  if (session.json) {
    Json out = Json::array();
    for (const HatchlingLine& line : list) out.push_back(line_json(line));
    return session.terminal.line(out.dump());
  }
  std::vector<std::vector<std::string>> rows;
  for (const HatchlingLine& line : list)
    rows.push_back({line.place ? line.place->label : "–", session.terminal.name(line.animal.label),
                    line.is_group ? "group" : sex_sign(line.sex), fmt::format("{} d", today - line.hatched),
                    session.terminal.styled(style_of(line.state.stage), word_of(line.state.stage)),
                    session.terminal.faint(about(line.state))});
  session.terminal.table(rows);
  if (!rows.empty()) session.terminal.line();
  session.terminal.line(fmt::format("{} ready, {} begun, {} not begun to eat, {} before the first shed, {} kept back.",
                                    counts[3], counts[2], counts[1], counts[0], counts[4]));
  session.terminal.line(session.terminal.faint(fmt::format(
      "Ready: first shed, sexed, {} meals without help (`hatchlings set meals N`), not under treatment, not held "
      "back. One that does not begin to eat and loses weight: look, and ask a veterinarian.",
      ready_rules(reader).meals)));
}

void set_meals(Session& session, int meals) {
  session.record({{.kind = Kind::set, .own = Value::Object{{"key", kReadyMealsSetting}, {"value", meals}}}});
  session.terminal.good(fmt::format("A young one is ready after {} meals without help.", meals));
}

}  // namespace

void add_hatchling_verb(CLI::App& app, Session& session) {
  auto options = std::make_shared<HatchlingOptions>();
  auto* verb =
      app.add_subcommand("hatchlings", "The young: who has not begun to eat and what was tried, who is ready to go");
  verb->add_option("--days", options->days, "Hatched within so many days")
      ->check(CLI::Range(1, 2000))
      ->capture_default_str();
  verb->add_flag("--ready", options->ready, "Only those that are ready");
  verb->add_flag("--not-begun", options->not_begun, "Only those that have not begun to eat");
  auto meals = std::make_shared<int>(ReadyRules::kUsualMeals);
  auto what = std::make_shared<std::string>();
  auto* set = verb->add_subcommand("set", "What is asked before one is ready");
  set->add_option("what", *what, "meals")->required()->check(CLI::IsMember({"meals"}));
  set->add_option("number", *meals, "Meals without help, in a row")->required()->check(CLI::Range(0, 100));
  set->callback([&session, meals, what] { set_meals(session, *meals); });
  verb->callback([&session, options, set] {
    if (!set->parsed()) show_hatchlings(session, *options);
  });
}

}  // namespace rackside::cli
