// clutches: what lies in the incubator, egg by egg.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "cli/season/season.h"
#include "cli/session.h"
#include "cli/verbs.h"
#include "core/entry/shapes.h"
#include "core/read/clutches.h"
#include "core/read/family.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

struct ClutchOptions {
  std::string dam;
  bool all = false;
};

std::string eggs_text(const Clutch& clutch) {
  if (!clutch.good) return "eggs not counted";
  std::string out = fmt::format("{} good", *clutch.good);
  if (clutch.slugs.value_or(0) > 0) out += fmt::format(", {} slug{}", *clutch.slugs, *clutch.slugs == 1 ? "" : "s");
  return out + (clutch.eggs_in_doubt ? " (counted twice: `rackside questions`)" : "");
}

std::string sires_text(Reader& reader, const Clutch& clutch) {
  std::string out;
  for (const Thing sire : clutch.sires) out += (out.empty() ? "" : " or ") + reader.label(sire);
  return out.empty() ? "sire unknown" : "by " + out;
}

std::string due_text(const Clutch& clutch, DayNumber today) {
  if (!clutch.due) return {};
  const std::string window = date_text(clutch.due->first) + " to " + date_text(clutch.due->last);
  if (clutch.due->late > 0) return fmt::format("was due {}, {} days late", window, clutch.due->late);
  if (today >= clutch.due->first) return "due any day, to " + date_text(clutch.due->last);
  return fmt::format("due {}, in {} days", window, clutch.due->first - today);
}

/// One sign an egg: o waits, / pipped, ● hatched; the numbers of those that carry one.
std::string egg_row(const Clutch& clutch) {
  std::string out;
  for (const auto& [number, egg] : clutch.eggs)
    out += fmt::format("{}{}{}", out.empty() ? "" : "  ", number, egg.hatched ? "●" : egg.pipped ? "/" : "o");
  return out;
}

std::string hatching_text(const Clutch& clutch) {
  if (clutch.pipped == 0 && clutch.hatched == 0) return {};
  std::string out = fmt::format("{} pipped, {} hatched", clutch.pipped, clutch.hatched);
  if (clutch.good && *clutch.good > 0) out += fmt::format(" of {}", *clutch.good);
  if (clutch.hatched_in_doubt) out += " (perhaps more: `rackside questions`)";
  return out;
}

std::string young_text(const Clutch& clutch) {
  if (clutch.hatched == 0) return {};
  std::string out = fmt::format("{} in the register", clutch.young.size() + clutch.by_hand.size());
  if (clutch.group) out += ", and a group " + clutch.group->label;
  const auto known = static_cast<std::int64_t>(clutch.young.size() + clutch.by_hand.size());
  if (known < clutch.hatched && !clutch.group)
    out += fmt::format("; `rackside young {}` registers the others", clutch.dam.label);
  if (known > clutch.hatched) out += ": more than hatched by the book. Are two of them one? Look, and withdraw one";
  return out;
}

void show_clutch(Session& session, Reader& reader, const Clutch& clutch, DayNumber today) {
  const Terminal& out = session.terminal;
  out.line();
  out.line(out.name(clutch.dam.label) + "  " + sires_text(reader, clutch) + "  laid " +
           out.strong(date_text(clutch.laid)) + fmt::format(", day {}", today - clutch.laid));
  const auto row = [&](const char* what, const std::string& text) {
    if (!text.empty()) out.line(fmt::format("  {:<11}", what) + text);
  };
  row("eggs", eggs_text(clutch));
  std::string incubation;
  for (const Incubation& one : clutch.incubation)
    incubation += (incubation.empty() ? "" : ", ") + celsius_text(one.celsius_tenths) + " since " + date_text(one.day);
  row("incubated", incubation);
  for (const Candling& one : clutch.candlings)
    row("candled", date_text(one.day) + (one.good ? fmt::format(": {} good", *one.good) : "") +
                       (one.bad && *one.bad > 0 ? fmt::format(", {} bad", *one.bad) : ""));
  row("hatching", hatching_text(clutch));
  row("eggs by no.", egg_row(clutch));
  row("young", young_text(clutch));
  if (clutch.is_open()) row("", out.strong(due_text(clutch, today)));
}

Json clutch_json(Reader& reader, const Clutch& clutch) {
  Json eggs = Json::array();
  for (const auto& [number, egg] : clutch.eggs)
    eggs.push_back({{"egg", number},
                    {"pipped", egg.pipped ? date_text(*egg.pipped) : ""},
                    {"hatched", egg.hatched ? date_text(*egg.hatched) : ""}});
  Json candlings = Json::array();
  for (const Candling& one : clutch.candlings)
    candlings.push_back({{"day", date_text(one.day)}, {"good", one.good.value_or(-1)}, {"bad", one.bad.value_or(-1)}});
  Json incubation = Json::array();
  for (const Incubation& one : clutch.incubation)
    incubation.push_back({{"day", date_text(one.day)}, {"celsius_tenths", one.celsius_tenths}});
  Json sires = Json::array();
  for (const Thing sire : clutch.sires) sires.push_back(reader.label(sire));
  Json young = Json::array();
  for (const Named& one : clutch.young) young.push_back(one.label);
  for (const Named& one : clutch.by_hand) young.push_back(one.label);
  Json out = {{"dam", clutch.dam.label},
              {"laid", date_text(clutch.laid)},
              {"sires", sires},
              {"good", clutch.good.value_or(-1)},
              {"slugs", clutch.slugs.value_or(-1)},
              {"waiting", clutch.waiting()},
              {"incubation", incubation},
              {"candlings", candlings},
              {"eggs", eggs},
              {"pipped", clutch.pipped},
              {"hatched", clutch.hatched},
              {"in_doubt", clutch.eggs_in_doubt || clutch.hatched_in_doubt},
              {"young", young},
              {"group", clutch.group ? clutch.group->label : ""}};
  if (clutch.due) out["due"] = {{"first", date_text(clutch.due->first)}, {"last", date_text(clutch.due->last)}};
  return out;
}

void show_clutches(Session& session, const ClutchOptions& options) {
  Reader reader = session.reader();
  const DayNumber today = reader.settings().zone.day_of(session.now());
  std::vector<Clutch> list = options.dam.empty()
                                 ? all_clutches(reader, session.now())
                                 : clutches_of(reader, session.find_animal(options.dam).thing, session.now());
  const std::size_t all = list.size();
  // Nobody waits for eggs that were laid in another year and never said to have hatched or spoiled.
  constexpr DayNumber kOpenDays = 200;
  if (!options.all && options.dam.empty())
    std::erase_if(list, [&](const Clutch& one) {
      const bool young_missing =
          one.hatched > static_cast<std::int64_t>(one.young.size() + one.by_hand.size()) && !one.group;
      return today - one.laid > kOpenDays || (!one.is_open() && !young_missing && one.good);
    });
  if (session.json) {
    Json out = Json::array();
    for (const Clutch& one : list) out.push_back(clutch_json(reader, one));
    return session.terminal.line(out.dump());
  }
  for (const Clutch& one : list) show_clutch(session, reader, one, today);
  session.terminal.line();
  session.terminal.line(list.empty() ? fmt::format("No clutch is open. The book holds {}; --all shows them.", all)
                                     : session.terminal.faint(fmt::format("{} of {} clutches.", list.size(), all)));
}

}  // namespace

std::string celsius_text(std::int64_t tenths) {
  return fmt::format("{}.{} °C", tenths / 10, tenths % 10);
}

void add_clutch_verb(CLI::App& app, Session& session) {
  auto options = std::make_shared<ClutchOptions>();
  auto* verb =
      app.add_subcommand("clutches", "Open clutches: eggs, temperature, candlings, pipped and hatched egg by egg");
  verb->add_option("dam", options->dam, "All clutches of this one; a clutch box’s code does too");
  verb->add_flag("--all", options->all, "Those that are done, too");
  verb->footer(
      "Entries, of the dam or of her clutch box’s code: `log laid C-3 14+2`, `log incubated C-3 28.5`, `log candled "
      "C-3 13+1`,\n"
      "`log pipped C-3 egg 4`, `log hatched C-3 egg 4`, or `log hatched C-3 5` where eggs carry no number.");
  verb->callback([&session, options] { show_clutches(session, *options); });
}

}  // namespace rackside::cli
