// What an animal may carry, and why; how related animals are; how a gene is proven.
#include "cli/genes/genes.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <set>

#include "cli/wording.h"
#include "core/genetics/phrases.h"
#include "core/genetics/reasons.h"
#include "core/genetics/said.h"

namespace rackside::cli {

using namespace core;
using namespace core::genetics;
using Json = nlohmann::json;

namespace {

constexpr std::size_t kShownReasons = 4;
constexpr std::size_t kShownProblems = 5;

std::string unplaced_text(const Lineages& lineages, const Named& animal) {
  for (const Unplaced& one : lineages.unplaced) {
    if (one.animal != animal.thing) continue;
    if (one.species.empty())
      return fmt::format("The species of {} is not in the book: `rackside animal edit {} --species NAME`.",
                         animal.label, animal.label);
    return fmt::format(
        "There is no catalogue of genes for “{}”, the species of {}. `rackside catalogue list` shows "
        "those there are; your own is a text file that `rackside catalogue use FILE` takes.",
        one.species, animal.label);
  }
  return animal.label + " is no animal of the register.";
}

std::string states_word(const Inference& inference, AnimalIndex animal, std::uint16_t locus) {
  switch (inference.way(animal, locus)) {
    case Way::exact:
      return "";
    case Way::sampled:
      return fmt::format("sampled, ± {}", percent(inference.error(animal, locus)));
    case Way::no_answer:
      return "no answer: what was recorded cannot all be true";
  }
  return "";
}

/// Worth a line: not certainly normal, or somebody said something.
bool worth_showing(const Odds& odds, AnimalIndex animal, std::uint16_t locus, bool all) {
  if (all || odds.inference().way(animal, locus) == Way::no_answer) return true;
  const auto chances = odds.inference().odds(animal, locus);
  const auto& states = odds.inference().states(locus);
  double wild = 0;
  for (std::size_t i = 0; i < chances.size(); ++i) wild += (states.wild() >> i & 1) ? chances[i] : 0;
  if (wild < 1 - 1e-12) return true;
  const auto& said = odds.lineage().collection.statements;
  return std::any_of(said.begin(), said.end(), [&](const genetics::Statement& one) {
    return one.animal == animal && std::any_of(one.options.begin(), one.options.end(),
                                               [&](const Option& option) { return option.locus == locus; });
  });
}

std::string chances_text(const std::vector<Chance>& chances) {
  std::string out;
  for (const Chance& one : chances) {
    const std::string phrase = one.carries ? one.phrase : "carries nothing";
    const std::string text = one.chance > 1 - 1e-12 ? phrase : percent(one.chance) + " " + phrase;
    out += (out.empty() ? "" : ", ") + text;
  }
  return out;
}

/// What the likeliest genotype's chance was without the record.
std::string reason_text(Session& session, Reader& reader, const Odds& odds, std::uint16_t locus, const Reason& reason,
                        AnimalIndex animal) {
  const auto& states = odds.inference().states(locus);
  const std::string before = reason.without.empty()
                                 ? "would be impossible"
                                 : chances_text(chances_of(odds.species(), locus, states, reason.without, 0.005));
  const Named about = reader.named(odds.lineage().things[reason.about]);
  const std::string whose = reason.about == animal ? "" : about.label + ": ";
  return whose + record_text(session, reader, reason.record) + session.terminal.faint("; without it: " + before);
}

Json json_locus(const Odds& odds, AnimalIndex animal, std::uint16_t locus) {
  const auto& inference = odds.inference();
  const auto& states = inference.states(locus);
  const auto chances = inference.odds(animal, locus);
  Json genotypes = Json::array();
  for (std::size_t i = 0; i < chances.size(); ++i) {
    if (chances[i] > 0)
      genotypes.push_back({{"genotype", states.name(i)},
                           {"called", phrase_of(odds.species(), locus, states, i)},
                           {"chance", chances[i]}});
  }
  static constexpr const char* kWays[] = {"exact", "sampled", "no_answer"};
  return {{"locus", odds.species().loci[locus].name},
          {"way", kWays[static_cast<std::size_t>(inference.way(animal, locus))]},
          {"error", inference.error(animal, locus)},
          {"genotypes", genotypes}};
}

AlleleRef one_allele(const Species& species, const std::string& gene) {
  std::string problem;
  if (const auto found = genetics::allele_named(species, gene, problem)) return *found;
  throw Error(Fault::bad_input, problem);
}

}  // namespace

Odds::Odds(Session& session, const Lineages& lineages, const Named& animal) : lineage_(lineages.of(animal.thing)) {
  if (lineage_ == nullptr) throw Error(Fault::bad_input, unplaced_text(lineages, animal));
  inference_ = std::make_unique<Inference>(lineage_->species);
  const std::size_t animals = lineage_->collection.animals.size();
  if (animals > 2000) session.terminal.progress("reckoning the genes of all relatives, animals", 0, animals);
  inference_->load(lineage_->collection);
  session.terminal.end_progress();
}

AnimalIndex Odds::index(const Named& animal) const {
  if (const auto found = lineage_->find(animal.thing)) return *found;
  throw Error(Fault::bad_input, animal.label + " is no " + lineage_->species->name +
                                    ", or its species is not in the book: only animals of one species are reckoned "
                                    "together.");
}

Kinship Odds::kinship() const {
  return Kinship(parents_of(lineage_->collection));
}

std::string record_text(Session& session, Reader& reader, RecordId record) {
  const StoryLine line = reader.line(static_cast<EventRow>(record));
  const std::string who = line.by.empty() ? "" : " by " + line.by;
  const std::string text = sentence_of(reader, line);
  return fmt::format("{} ({}{})", text, session.when(line.at), who);
}

std::string problem_text(Session& session, Reader& reader, const Lineage& lineage, const Problem& problem) {
  std::string text(word_of(problem.kind));
  if (problem.kind != Problem::Kind::own_ancestor && problem.kind != Problem::Kind::male_dam &&
      problem.kind != Problem::Kind::female_sire && problem.locus < lineage.species->loci.size())
    text = lineage.species->loci[problem.locus].name + ": " + text;
  std::string who;
  for (AnimalIndex animal : problem.animals) {
    if (animal < lineage.things.size()) who += (who.empty() ? "" : ", ") + reader.label(lineage.things[animal]);
  }
  if (!who.empty()) text += " (" + who + ")";
  std::vector<RecordId> records;  // each once
  for (RecordId one : problem.records) {
    if (std::find(records.begin(), records.end(), one) == records.end()) records.push_back(one);
  }
  for (std::size_t i = 0; i < std::min(records.size(), kShownProblems); ++i)
    text += "; " + record_text(session, reader, records[i]);
  return text;
}

std::string two_fathers_text(const Collection& collection, std::span<const AnimalIndex> animals, bool of_sire) {
  const auto is_named = [&](AnimalIndex one) {
    return std::find(animals.begin(), animals.end(), one) != animals.end();
  };
  std::vector<unsigned> young(collection.sirings.size());
  std::vector<bool> touched(collection.sirings.size());
  for (AnimalIndex i = 0; i < collection.animals.size(); ++i) {
    const SiringIndex siring = collection.animals[i].siring;
    if (siring >= young.size()) continue;
    ++young[siring];
    const auto& possible = collection.sirings[siring].possible;
    const bool sire =
        std::any_of(possible.begin(), possible.end(), [&](const auto& one) { return is_named(one.sire); });
    if (possible.size() > 1 ? is_named(i) || sire : is_named(i) && of_sire) touched[siring] = true;
  }
  for (std::size_t i = 0; i < young.size(); ++i) {
    if (touched[i] && young[i] > 1)
      return "Young of one clutch are taken to have one father. Two fathers in one clutch happen: then say each "
             "young's "
             "own, `rackside says YOUNG sire MALE`.";
  }
  return {};
}

void tell_problems(Session& session, Reader& reader, const Odds& odds, std::span<const AnimalIndex> of) {
  constexpr unsigned kSteps = 3;
  constexpr std::size_t kMost = 500;
  const Ties ties = ties_of(odds.lineage().collection);
  std::set<AnimalIndex> family;
  for (AnimalIndex one : of) {
    const auto near = near_ones(ties, one, kSteps, kMost);
    family.insert(near.begin(), near.end());
  }
  std::vector<const Problem*> near;
  const auto& problems = odds.inference().problems();
  for (const Problem& one : problems) {
    const bool here = std::any_of(one.animals.begin(), one.animals.end(),
                                  [&](AnimalIndex animal) { return family.contains(animal); });
    if (here || one.animals.empty() || of.empty()) near.push_back(&one);
  }
  std::vector<AnimalIndex> unfit;
  for (const Problem* one : near) {
    if (one->kind == Problem::Kind::impossible_family)
      unfit.insert(unfit.end(), one->animals.begin(), one->animals.end());
  }
  const std::size_t shown = std::min(near.size(), kShownProblems);
  for (std::size_t i = 0; i < shown; ++i)
    session.terminal.warn(problem_text(session, reader, odds.lineage(), *near[i]));
  const std::string fathers = two_fathers_text(odds.lineage().collection, unfit, true);
  if (!fathers.empty()) session.terminal.line(fathers);
  if (problems.size() > shown)
    session.terminal.line(session.terminal.faint(
        fmt::format("{} more that cannot be so{}: `rackside doubt` lists them.", problems.size() - shown,
                    near.size() > shown ? "" : ", of animals farther off")));
}

void show_genes(Session& session, const std::string& text, bool all) {
  Reader reader = session.reader();
  const Named animal = session.find_animal(text);
  const Lineages lineages = load_lineages(reader);
  const Odds odds(session, lineages, animal);
  const AnimalIndex index = odds.index(animal);
  Json loci = Json::array();
  std::vector<std::uint16_t> shown;
  for (std::uint16_t locus = 0; locus < odds.species().loci.size(); ++locus) {
    if (!worth_showing(odds, index, locus, all)) continue;
    shown.push_back(locus);
    loci.push_back(json_locus(odds, index, locus));
  }
  if (session.json)
    return session.terminal.line(
        Json{{"animal", animal.label}, {"species", odds.species().name}, {"genes", loci}}.dump());
  session.terminal.heading(animal.label + ", " + odds.species().name);
  if (shown.empty())
    session.terminal.line("Nothing but normal genes, as far as anybody said. `rackside says` states what is known.");
  for (std::uint16_t locus : shown) {
    const auto& states = odds.inference().states(locus);
    const auto chances = chances_of(odds.species(), locus, states, odds.inference().odds(index, locus));
    const std::string how = states_word(odds.inference(), index, locus);
    // Of what is carried the words say which gene it is.
    const bool carries =
        chances.empty() || std::any_of(chances.begin(), chances.end(), [](const Chance& one) { return one.carries; });
    session.terminal.line(fmt::format("{}{}{}", carries ? "" : odds.species().loci[locus].name + ": ",
                                      session.terminal.strong(chances_text(chances)),
                                      how.empty() ? "" : session.terminal.faint("  (" + how + ")")));
    const auto reasons = reasons_for(odds.lineage().species, odds.lineage().collection, index, locus);
    for (std::size_t i = 0; i < std::min(reasons.size(), kShownReasons); ++i)
      session.terminal.line("    " + reason_text(session, reader, odds, locus, reasons[i], index));
  }
  for (const LeftOut& one : odds.lineage().left_out) {
    if (one.animal == animal.thing)
      session.terminal.warn("Not used: " + record_text(session, reader, static_cast<RecordId>(one.event)) + ". " +
                            one.why);
  }
  tell_problems(session, reader, odds, std::array{index});
}

namespace {

/// "amel", "pastel or super pastel".
std::string proving_text(const Odds& odds, AnimalIndex animal, AnimalIndex mate, AlleleRef allele) {
  std::string out;
  for (const std::uint8_t look : proving_looks(odds.inference(), animal, mate, allele))
    out += (out.empty() ? "" : " or ") + look_name(odds.species(), {allele.locus, look});
  return out;
}

/// Somebody said something of the animal and a gene of this locus.
bool is_spoken_of(const Lineage& lineage, AnimalIndex animal, std::uint16_t locus) {
  const auto& statements = lineage.collection.statements;
  return std::any_of(statements.begin(), statements.end(), [&](const genetics::Statement& one) {
    return one.animal == animal && std::any_of(one.options.begin(), one.options.end(),
                                               [&](const Option& option) { return option.locus == locus; });
  });
}

}  // namespace

void show_prove(Session& session, const ProveOptions& options) {
  Reader reader = session.reader();
  const Named animal = session.find_animal(options.animal);
  const Lineages lineages = load_lineages(reader);
  const Odds odds(session, lineages, animal);
  const AnimalIndex index = odds.index(animal);
  const AlleleRef allele = one_allele(odds.species(), options.gene);
  const auto& states = odds.inference().states(allele.locus);
  const auto chances = odds.inference().odds(index, allele.locus);
  double carries = 0;
  for (std::size_t i = 0; i < chances.size(); ++i)
    carries += (states.carrying(allele.allele) >> i & 1) ? chances[i] : 0;

  struct Mate {
    std::string label;
    std::string shown;  ///< the look that proves it
    std::optional<unsigned> at95, at99;
  };
  std::vector<Mate> mates;
  const std::string sex = reader.field(animal.thing, "sex");
  const auto consider = [&](const Named& mate) {
    const AnimalIndex other = odds.index(mate);
    const auto at95 = young_to_prove(odds.inference(), index, other, allele, 0.95);
    if (at95)
      mates.push_back({mate.label, proving_text(odds, index, other, allele), at95,
                       young_to_prove(odds.inference(), index, other, allele, 0.99)});
  };
  if (!options.mate.empty()) {
    consider(session.find_animal(options.mate));
  } else {
    for (const Named& mate : reader.all("animal")) {
      const std::string other = reader.field(mate.thing, "sex");
      const bool fits = (other == "male" || other == "female") && other != sex && mate.thing != animal.thing;
      if (fits && odds.lineage().find(mate.thing) && reader.lives_here(mate.thing)) consider(mate);
    }
    std::stable_sort(mates.begin(), mates.end(), [](const Mate& a, const Mate& b) {
      return std::pair(*a.at95, a.at99.value_or(kMostYoung)) < std::pair(*b.at95, b.at99.value_or(kMostYoung));
    });
  }
  if (session.json) {
    Json list = Json::array();
    for (const Mate& mate : mates)
      list.push_back({{"mate", mate.label},
                      {"proof", mate.shown},
                      {"young_95", *mate.at95},
                      {"young_99", mate.at99 ? Json(*mate.at99) : Json(nullptr)}});
    return session.terminal.line(
        Json{{"animal", animal.label}, {"gene", options.gene}, {"carries", carries}, {"mates", list}}.dump());
  }
  session.terminal.line(fmt::format("{} carries {} with a chance of {}.", session.terminal.name(animal.label),
                                    options.gene, percent(carries)));
  if (carries <= 1e-12 && !is_spoken_of(odds.lineage(), index, allele.locus))
    return session.terminal.line(fmt::format(
        "Nothing in the book hints at it, so the book takes it to carry none; that is not known. To reckon a test, say "
        "what you think possible: `rackside says {} possible-het \"{}\" --chance 10`.",
        animal.label, options.gene));
  if (carries <= 1e-12 || carries >= 1 - 1e-12)
    return session.terminal.line("There is nothing to prove: what is in the book settles it.");
  if (mates.empty())
    return session.terminal.line(
        "No mate in the book could clear it of the gene to 95 %: that takes one with which only a copy of its "
        "own explains how a young looks; of a recessive gene one that shows it or surely carries it.");
  session.terminal.line(
      "One young that looks as named proves that it carries it, if it is surely their young. Without one, it is 95 % "
      "(99 %) sure that it does not after");
  std::vector<std::vector<std::string>> table;
  for (std::size_t i = 0; i < std::min<std::size_t>(mates.size(), 8); ++i)
    table.push_back({"with " + session.terminal.name(mates[i].label),
                     fmt::format("{} ({}) living young", *mates[i].at95,
                                 mates[i].at99 ? std::to_string(*mates[i].at99) : "over 1000"),
                     "none " + mates[i].shown});
  session.terminal.table(table);
}

void show_kinship(Session& session, const std::string& first_text, const std::string& second_text) {
  Reader reader = session.reader();
  const Named first = session.find_animal(first_text);
  const Named second = session.find_animal(second_text);
  const Lineages lineages = load_lineages(reader);
  const Lineage* lineage = lineages.of(first.thing);
  if (lineage == nullptr) throw Error(Fault::bad_input, unplaced_text(lineages, first));
  const auto other = lineage->find(second.thing);
  if (!other) throw Error(Fault::bad_input, second.label + " is of another species than " + first.label + ".");
  const double value = Kinship(parents_of(lineage->collection)).kinship(*lineage->find(first.thing), *other);
  if (session.json)
    return session.terminal.line(Json{{"first", first.label}, {"second", second.label}, {"kinship", value}}.dump());
  const bool unsure = rests_on_possible_sires(lineage->collection, *lineage->find(first.thing), *other);
  session.terminal.line(
      fmt::format("{} and {}: coefficient of kinship {}{}. It is the inbreeding (F) that young of the two would have.",
                  session.terminal.name(first.label), session.terminal.name(second.label), unsure ? "at least " : "",
                  percent(value, 2)));
  session.terminal.line(
      session.terminal.faint("Full sibs and parent with young have 25 %, half sibs 12.5 %, first cousins 6.25 %, where "
                             "nothing else ties them. "
                             "Parents that the book does not know count as unrelated, and so do possible sires."));
}

void show_inbreeding(Session& session, const std::string& text) {
  Reader reader = session.reader();
  const Lineages lineages = load_lineages(reader);
  std::vector<std::pair<double, std::string>> list;
  for (const Lineage& lineage : lineages.all) {
    const Kinship kinship(parents_of(lineage.collection));
    for (AnimalIndex i = 0; i < lineage.things.size(); ++i)
      list.emplace_back(kinship.inbreeding(i), reader.label(lineage.things[i]));
  }
  if (!text.empty()) {
    const Named animal = session.find_animal(text);
    if (lineages.of(animal.thing) == nullptr) throw Error(Fault::bad_input, unplaced_text(lineages, animal));
    std::erase_if(list, [&](const auto& one) { return one.second != animal.label; });
  } else {
    std::erase_if(list, [](const auto& one) { return one.first <= 0; });
  }
  std::stable_sort(list.begin(), list.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  if (session.json) {
    Json out = Json::array();
    for (const auto& [value, label] : list) out.push_back({{"animal", label}, {"inbreeding", value}});
    return session.terminal.line(out.dump());
  }
  if (list.empty()) return session.terminal.line("No animal is inbred, as far as the book knows their parents.");
  std::vector<std::vector<std::string>> table;
  for (const auto& [value, label] : list) table.push_back({session.terminal.name(label), percent(value, 2)});
  session.terminal.table(table);
}

}  // namespace rackside::cli
