// doubt: what is probably recorded wrong. plan: what to pair for a wanted look.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "cli/genes/genes.h"
#include "core/genetics/doubt.h"
#include "core/genetics/pedigree.h"
#include "core/genetics/phrases.h"
#include "core/genetics/plan.h"
#include "core/genetics/said.h"

namespace rackside::cli {

using namespace core;
using namespace core::genetics;
using Json = nlohmann::json;

namespace {

constexpr std::size_t kShownYoung = 6;

std::string odds_text(double odds) {
  if (std::isinf(odds)) return "it cannot be as recorded";
  if (odds >= 1e6) return "over a million to 1 against the record";
  return fmt::format("{:.0f} to 1 against the record", odds);
}

std::string labels_of(Reader& reader, const Lineage& lineage, const std::vector<AnimalIndex>& animals) {
  std::string out;
  for (std::size_t i = 0; i < animals.size() && i < kShownYoung; ++i)
    out += (i == 0 ? "" : ", ") + reader.label(lineage.things[animals[i]]);
  if (animals.size() > kShownYoung) out += fmt::format(" and {} more", animals.size() - kShownYoung);
  return out;
}

std::string label_or_stranger(Reader& reader, const Lineage& lineage, AnimalIndex animal) {
  return animal == kNobody ? "one that the book does not know" : reader.label(lineage.things[animal]);
}

std::string suspect_text(Session& session, Reader& reader, const Lineage& lineage, const Suspect& suspect) {
  const std::string what = suspect.record == 0 ? std::string() : record_text(session, reader, suspect.record);
  const std::string whose = reader.label(lineage.things[suspect.about]);
  if (suspect.kind == Suspect::Kind::statement) return fmt::format("{}: {}", whose, what);
  return fmt::format("{}: {}; likelier {}", whose, what, label_or_stranger(reader, lineage, suspect.instead));
}

/// Parents that cannot be, whatever the odds: an animal among its own ancestors, a male mother, a female father.
std::vector<Problem> impossible_parents(const Lineage& lineage) {
  Pedigree pedigree;
  pedigree.extend(lineage.collection);
  return pedigree.problems;
}

Json json_of(Reader& reader, const Lineage& lineage, const Problem& problem) {
  Json animals = Json::array();
  for (AnimalIndex one : problem.animals) animals.push_back(reader.label(lineage.things[one]));
  Json suspects = Json::array();
  for (RecordId one : problem.records) {
    if (one != 0)
      suspects.push_back({{"kind", "parent"}, {"event", to_text(reader.line(static_cast<EventRow>(one)).ref)}});
  }
  return {{"species", lineage.species->name},
          {"odds_against", "infinite"},
          {"problem", word_of(problem.kind)},
          {"animals", animals},
          {"suspects", suspects}};
}

Json json_of(Reader& reader, const Lineage& lineage, const Doubt& doubt) {
  static constexpr const char* kKinds[] = {"sire", "dam", "statement"};
  Json suspects = Json::array();
  for (const Suspect& one : doubt.suspects) {
    Json suspect = {{"kind", kKinds[static_cast<std::size_t>(one.kind)]},
                    {"about", reader.label(lineage.things[one.about])},
                    {"share", one.share}};
    if (one.record != 0) suspect["event"] = to_text(reader.line(static_cast<EventRow>(one.record)).ref);
    if (one.kind != Suspect::Kind::statement && one.instead != kNobody)
      suspect["likelier"] = reader.label(lineage.things[one.instead]);
    suspects.push_back(std::move(suspect));
  }
  Json young = Json::array();
  for (AnimalIndex one : doubt.young) young.push_back(reader.label(lineage.things[one]));
  return {{"species", lineage.species->name},
          {"odds_against", std::isinf(doubt.odds) ? Json("infinite") : Json(doubt.odds)},
          {"animals", young},
          {"suspects", suspects}};
}

void print_doubt(Session& session, Reader& reader, const Lineage& lineage, const Doubt& doubt) {
  session.terminal.heading(fmt::format("{}: {}", labels_of(reader, lineage, doubt.young), odds_text(doubt.odds)));
  for (const Suspect& one : doubt.suspects)
    session.terminal.line(fmt::format("{:>7}  {}", percent(one.share), suspect_text(session, reader, lineage, one)));
  const bool of_sire =
      doubt.suspects.empty() || std::any_of(doubt.suspects.begin(), doubt.suspects.end(),
                                            [](const Suspect& one) { return one.kind == Suspect::Kind::sire; });
  if (doubt.suspects.empty()) session.terminal.line("No single record explains it: more than one is wrong.");
  const std::string fathers = two_fathers_text(lineage.collection, doubt.young, of_sire);
  if (!fathers.empty()) session.terminal.line(session.terminal.faint(fathers));
}

// ---- plan

struct AtHand {
  std::vector<AnimalIndex> males, females;
};

AtHand at_hand(Reader& reader, const Lineage& lineage) {
  AtHand out;
  for (AnimalIndex i = 0; i < lineage.things.size(); ++i) {
    const Sex sex = lineage.collection.animals[i].sex;
    if (sex == Sex::unknown || !reader.lives_here(lineage.things[i])) continue;
    (sex == Sex::male ? out.males : out.females).push_back(i);
  }
  return out;
}

const Lineage& lineage_for(const Lineages& lineages, const PlanOptions& options, const std::string& wanted,
                           std::vector<Part>& parts) {
  const Lineage* found = nullptr;
  std::string problem = "There is no animal in the book whose species has a catalogue of genes.";
  for (const Lineage& one : lineages.all) {
    if (!options.species.empty() && plain_name(options.species) != plain_name(one.species->name)) continue;
    std::string why;
    std::vector<Part> here = parts_named(*one.species, wanted, why);
    if (here.empty()) {
      problem = why;
      continue;
    }
    if (found != nullptr)
      throw Error(Fault::ambiguous, fmt::format("The {} and the {} both have such looks: say which with --species.",
                                                found->species->name, one.species->name));
    found = &one;
    parts = std::move(here);
  }
  if (found == nullptr) throw Error(Fault::bad_input, problem);
  return *found;
}

std::string second_text(Reader& reader, const Lineage& lineage, const TwoSteps& one) {
  switch (one.second) {
    case TwoSteps::Second::siblings:
      return "with each other";
    case TwoSteps::Second::back_to_sire:
      return "back to " + reader.label(lineage.things[one.sire]);
    case TwoSteps::Second::back_to_dam:
      return "back to " + reader.label(lineage.things[one.dam]);
    case TwoSteps::Second::other:
      return "with " + reader.label(lineage.things[one.mate]);
  }
  return "";
}

std::string kept_text(const Species& species, const TwoSteps& one) {
  if (one.keep.empty()) return "normal-looking young";
  std::string out = "young that show ";
  for (std::size_t i = 0; i < one.keep.size(); ++i) out += (i == 0 ? "" : " + ") + look_name(species, one.keep[i]);
  return out;
}

double inbreeding_of_second(const Kinship& kinship, const TwoSteps& one) {
  const double parents = kinship.kinship(one.sire, one.dam);
  switch (one.second) {
    case TwoSteps::Second::siblings:
      return (2 + kinship.inbreeding(one.sire) + kinship.inbreeding(one.dam)) / 8 + parents / 2;
    case TwoSteps::Second::back_to_sire:
      return (kinship.kinship(one.sire, one.sire) + parents) / 2;
    case TwoSteps::Second::back_to_dam:
      return (kinship.kinship(one.dam, one.dam) + parents) / 2;
    case TwoSteps::Second::other:
      return (kinship.kinship(one.sire, one.mate) + kinship.kinship(one.dam, one.mate)) / 2;
  }
  return 0;
}

Json plan_json(Reader& reader, const Lineage& lineage, const Kinship& kinship, const BreedingPlan& found) {
  Json pairs = Json::array();
  for (const DirectPair& one : found.pairs)
    pairs.push_back({{"sire", reader.label(lineage.things[one.sire])},
                     {"dam", reader.label(lineage.things[one.dam])},
                     {"each", one.each},
                     {"young_90", one.young},
                     {"exact", one.exact},
                     {"inbreeding", kinship.kinship(one.sire, one.dam)}});
  Json steps = Json::array();
  for (const TwoSteps& one : found.steps)
    steps.push_back({{"sire", reader.label(lineage.things[one.sire])},
                     {"dam", reader.label(lineage.things[one.dam])},
                     {"keep", kept_text(*lineage.species, one)},
                     {"keep_each", one.keep_each},
                     {"then", second_text(reader, lineage, one)},
                     {"each", one.each},
                     {"expected_young", one.young},
                     {"inbreeding", inbreeding_of_second(kinship, one)}});
  return {{"species", lineage.species->name}, {"pairs", pairs}, {"two_generations", steps}};
}

void print_plan(Session& session, Reader& reader, const Lineage& lineage, const Kinship& kinship,
                const BreedingPlan& found) {
  const Terminal& terminal = session.terminal;
  const auto name = [&](AnimalIndex animal) { return terminal.name(reader.label(lineage.things[animal])); };
  const auto inbred = [&](double value) { return value > 0 ? ", inbreeding " + percent(value, 2) : std::string(); };
  terminal.heading("In one generation");
  if (found.pairs.empty()) terminal.line("No pair at hand can give it.");
  for (const DirectPair& one : found.pairs)
    terminal.line(fmt::format("{} × {}: {} of each young; at least one nine times in ten among {}{}{}", name(one.sire),
                              name(one.dam), percent(one.each), one.young, inbred(kinship.kinship(one.sire, one.dam)),
                              one.exact ? "" : terminal.faint(" (parents' odds taken as independent)")));
  if (found.steps.empty()) return;
  terminal.heading(found.pairs.empty() ? "In two generations" : "In two generations, with fewer young in all");
  for (const TwoSteps& one : found.steps)
    terminal.line(fmt::format("{} × {}, keep {} ({}), then {}: {} of each young; about {:.0f} young in all{}",
                              name(one.sire), name(one.dam), kept_text(*lineage.species, one), percent(one.keep_each),
                              second_text(reader, lineage, one), percent(one.each), std::ceil(one.young),
                              inbred(inbreeding_of_second(kinship, one))));
}

}  // namespace

void show_doubts(Session& session) {
  Reader reader = session.reader();
  const Lineages lineages = load_lineages(reader);
  Json list = Json::array();
  std::size_t told = 0;
  for (const Lineage& lineage : lineages.all) {
    session.terminal.progress("weighing the records of the " + lineage.species->name, 0, 0);
    const std::vector<Doubt> found = doubts(lineage.species, lineage.collection);
    session.terminal.end_progress();
    for (const Problem& one : impossible_parents(lineage)) {
      ++told;
      if (session.json)
        list.push_back(json_of(reader, lineage, one));
      else
        session.terminal.warn(problem_text(session, reader, lineage, one));
    }
    told += found.size();
    for (const Doubt& one : found) {
      if (session.json)
        list.push_back(json_of(reader, lineage, one));
      else
        print_doubt(session, reader, lineage, one);
    }
    for (const LeftOut& one : lineage.left_out) {
      if (session.json) continue;
      session.terminal.warn(reader.label(one.animal) + ": " +
                            record_text(session, reader, static_cast<RecordId>(one.event)) + " is not used. " +
                            one.why);
    }
  }
  if (session.json) return session.terminal.line(list.dump());
  if (told == 0) session.terminal.good("No record is doubted: what was said of parents and looks fits together.");
  if (told > 0)
    session.terminal.line(
        session.terminal.faint("A wrong entry is withdrawn with `rackside void`, a better one made with `rackside "
                               "says`; nothing was changed."));
}

void show_plan(Session& session, const PlanOptions& options) {
  Reader reader = session.reader();
  const Lineages lineages = load_lineages(reader);
  std::string wanted;
  for (const std::string& one : options.wanted)
    wanted += (wanted.empty() || one == "+" || wanted.ends_with("+") ? "" : " + ") + one;
  std::vector<Part> parts;
  const Lineage& lineage = lineage_for(lineages, options, wanted, parts);
  const Odds odds(session, lineages, reader.named(lineage.things.front()));
  const AtHand animals = at_hand(reader, lineage);
  const BreedingPlan found = plan(odds.inference(), animals.males, animals.females, parts, options.most);
  const Kinship kinship = odds.kinship();
  if (session.json) return session.terminal.line(plan_json(reader, lineage, kinship, found).dump());
  print_plan(session, reader, lineage, kinship, found);
  tell_problems(session, reader, odds, {});
}

}  // namespace rackside::cli
