// What a pair may give: visuals with their chances, what each may carry, and what a keeper should know beforehand.
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "cli/genes/genes.h"
#include "core/genetics/phrases.h"
#include "core/genetics/said.h"

namespace rackside::cli {

using namespace core;
using namespace core::genetics;
using Json = nlohmann::json;

namespace {

/// Rows that people read; the rest is summed.
constexpr std::size_t kShownRows = 24;
/// Sums of many products miss 0 by rounding.
constexpr double kWorthTelling = 1e-9;

struct Couple {
  Named sire, dam;
};

/// Whoever was typed first: the sexes are told apart, and told when they do not fit.
Couple couple_of(Session& session, const OddsOptions& options) {
  Reader reader = session.reader();
  Couple out{session.find_animal(options.sire), session.find_animal(options.dam)};
  if (out.sire.thing == out.dam.thing)
    throw Error(Fault::bad_input, "That is one animal twice: name a male and a female.");
  const std::string first = reader.field(out.sire.thing, "sex");
  const std::string second = reader.field(out.dam.thing, "sex");
  if (first == "female" || second == "male") std::swap(out.sire, out.dam);
  if (!first.empty() && first == second && first != "unknown")
    throw Error(Fault::bad_input,
                fmt::format("{} and {} are both recorded as {}. If a record is wrong, mend it with `rackside animal "
                            "edit`.",
                            out.sire.label, out.dam.label, first));
  return out;
}

/// What young of this row carry unseen: "het anery", "66.7 % het amel".
std::vector<std::string> carried(const Species& species, const Forecast& forecast, const LookRow& row) {
  std::vector<std::string> out;
  for (const Chance& one : carried_unseen(species, forecast, row))
    out.push_back(one.chance > 1 - 1e-12 ? one.phrase : percent(one.chance) + " " + one.phrase);
  return out;
}

std::string joined(const std::vector<std::string>& parts) {
  std::string out;
  for (const std::string& part : parts) out += (out.empty() ? "" : ", ") + part;
  return out;
}

double share_of(const Forecast& forecast, Sex sex) {
  double out = 0;
  for (const LookRow& row : forecast.rows) out += row.sex == sex ? row.chance : 0;
  return out;
}

/// The rows of one sex, as shares of it. @return what of all young has no line
double print_rows_of(Session& session, const Species& species, const Forecast& forecast, unsigned eggs, Sex sex) {
  const double all = sex == Sex::unknown ? 1 : share_of(forecast, sex);
  std::vector<std::vector<std::string>> table;
  double rest = 0;
  for (const LookRow& row : forecast.rows) {
    if (row.sex != sex) continue;
    if (table.size() >= kShownRows) {
      rest += row.chance;
      continue;
    }
    std::vector<std::string> cells{percent(row.chance / all), session.terminal.strong(name_of(species, row))};
    if (eggs > 0) cells.push_back(fmt::format("about {:.1f}", row.chance * eggs * (1 - forecast.lost)));
    cells.push_back(session.terminal.faint(joined(carried(species, forecast, row))));
    table.push_back(std::move(cells));
  }
  session.terminal.table(table);
  return rest;
}

void print_rows(Session& session, const Species& species, const Forecast& forecast, unsigned eggs) {
  double rest = forecast.rest;
  const bool told_apart = std::any_of(forecast.rows.begin(), forecast.rows.end(),
                                      [](const LookRow& row) { return row.sex != Sex::unknown; });
  if (!told_apart) {
    rest += print_rows_of(session, species, forecast, eggs, Sex::unknown);
  } else {
    for (const Sex sex : {Sex::male, Sex::female}) {
      session.terminal.line(
          fmt::format("Of the {}s ({} of the young):", word_of(sex), percent(share_of(forecast, sex))));
      rest += print_rows_of(session, species, forecast, eggs, sex);
    }
  }
  if (rest > 1e-9) session.terminal.line(session.terminal.faint(percent(rest) + "  others, each rarer"));
  if (forecast.error > 0)
    session.terminal.line(session.terminal.faint(
        fmt::format("Drawn, not exact: their family has too many loops. Each chance ± {}.", percent(forecast.error))));
}

std::string as_sentence(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

std::string harm_text(const Harm& harm) {
  const std::string eggs = fmt::format("{} of the eggs", percent(harm.chance));
  const std::string what = harm.what.empty() ? "" : "; " + harm.what;
  if (!harm.lethal) return fmt::format("{}: {} ({})", harm.pair, harm.what, eggs);
  if (harm.established) return fmt::format("{}: does not live ({}){}", harm.pair, eggs, what);
  return fmt::format("{}: {}, if, as most say, it does not live{}", harm.pair, eggs, what);
}

void print_cautions(Session& session, const Forecast& forecast) {
  if (forecast.lost > kWorthTelling)
    session.terminal.warn(
        fmt::format("{} of the eggs are expected not to live because of the genes below.", percent(forecast.lost)));
  for (const Harm& harm : forecast.harms)
    session.terminal.warn(harm_text(harm) + ". " + as_sentence(harm.source) + ".");
  if (!forecast.harms.empty())
    session.terminal.line(session.terminal.faint(
        "Whether such a pairing is allowed where you are, local rules say; what it means for the animals, a "
        "veterinarian."));
}

void print_wanted(Session& session, const Odds& odds, const Couple& couple, const OddsOptions& options, unsigned eggs) {
  std::string problem;
  const std::vector<Part> wanted = parts_named(odds.species(), options.wanted, problem);
  if (wanted.empty()) throw Error(Fault::bad_input, problem);
  const auto found = clutch_odds(odds.inference(), odds.index(couple.sire), odds.index(couple.dam), wanted, eggs);
  if (!found) return session.terminal.warn("For the wanted look there is no answer: see the problems below.");
  session.terminal.line(
      fmt::format("Wanted, {}: {} of each young. Of {} living young at least one: {}; expected {:.1f}, nine times in "
                  "ten {} to {}{}.",
                  session.terminal.strong(options.wanted), percent(found->each), eggs, percent(found->at_least_one),
                  found->expected, found->low, found->high,
                  found->error > 0 ? fmt::format(" (drawn, ± {})", percent(found->error)) : std::string()));
}

Json json_of(const Odds& odds, const Couple& couple, const Forecast& forecast, double inbreeding) {
  const Species& species = odds.species();
  Json rows = Json::array();
  for (const LookRow& row : forecast.rows) {
    rows.push_back(
        {{"look", name_of(species, row)}, {"chance", row.chance}, {"carries", carried(species, forecast, row)}});
    if (row.sex != Sex::unknown) rows.back()["sex"] = word_of(row.sex);
  }
  Json harms = Json::array();
  for (const Harm& harm : forecast.harms)
    harms.push_back({{"pair", harm.pair},
                     {"what", harm.what},
                     {"chance", harm.chance},
                     {"lethal", harm.lethal},
                     {"established", harm.established},
                     {"source", harm.source}});
  Json unanswered = Json::array();
  for (std::uint16_t locus : forecast.unanswered) unanswered.push_back(species.loci[locus].name);
  return {{"sire", couple.sire.label},   {"dam", couple.dam.label},
          {"species", species.name},     {"young", rows},
          {"not_viable", forecast.lost}, {"harms", harms},
          {"inbreeding", inbreeding},    {"no_answer_at", unanswered},
          {"error", forecast.error}};
}

}  // namespace

void show_odds(Session& session, const OddsOptions& options) {
  Reader reader = session.reader();
  const Lineages lineages = load_lineages(reader);
  const Couple couple = couple_of(session, options);
  const Odds odds(session, lineages, couple.sire);
  const AnimalIndex sire = odds.index(couple.sire);
  const AnimalIndex dam = odds.index(couple.dam);
  const Forecast forecast = genetics::forecast(odds.inference(), sire, dam);
  const double inbreeding = odds.kinship().kinship(sire, dam);
  const bool unsure = rests_on_possible_sires(odds.lineage().collection, sire, dam);
  if (session.json) {
    Json out = json_of(odds, couple, forecast, inbreeding);
    std::string problem;
    if (!options.wanted.empty()) {
      const std::vector<Part> wanted = parts_named(odds.species(), options.wanted, problem);
      if (wanted.empty()) throw Error(Fault::bad_input, problem);
      const unsigned young = options.eggs > 0 ? options.eggs : 1;
      if (const auto found = clutch_odds(odds.inference(), sire, dam, wanted, young))
        out["wanted"] = {{"look", options.wanted},      {"young", young},
                         {"each", found->each},         {"at_least_one", found->at_least_one},
                         {"expected", found->expected}, {"low", found->low},
                         {"high", found->high},         {"error", found->error}};
    }
    return session.terminal.line(out.dump());
  }
  session.terminal.heading(fmt::format("{} × {}, {}", couple.sire.label, couple.dam.label, odds.species().name));
  print_rows(session, odds.species(), forecast, options.eggs);
  session.terminal.line();
  if (!options.wanted.empty()) print_wanted(session, odds, couple, options, options.eggs > 0 ? options.eggs : 1);
  session.terminal.line(
      fmt::format("Inbreeding (F) of the young: {}{}{}", unsure ? "at least " : "", percent(inbreeding, 2),
                  inbreeding > 0 ? ", by the parents that the book knows."
                                 : "; the book knows no common ancestor. They may be related all the same."));
  print_cautions(session, forecast);
  for (std::uint16_t locus : forecast.unanswered)
    session.terminal.warn("No answer at " + odds.species().loci[locus].name +
                          ": what was recorded cannot all be true.");
  tell_problems(session, reader, odds, std::array{sire, dam});
}

}  // namespace rackside::cli
