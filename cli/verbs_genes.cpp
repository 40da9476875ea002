// genes, odds, prove, plan, doubt, kin, inbreeding, catalogue.
#include <CLI/CLI.hpp>

#include "cli/genes/genes.h"
#include "cli/verbs.h"

namespace rackside::cli {
namespace {

constexpr const char* kCode = "Code or short ID";

template <typename Options>
std::shared_ptr<Options> kept() {
  return std::make_shared<Options>();
}

void add_genes(CLI::App& app, Session& session) {
  auto* verb = app.add_subcommand("genes", "What an animal carries: each gene with its odds and the reasons");
  auto animal = kept<std::string>();
  auto all = kept<bool>();
  verb->add_option("animal", *animal, kCode)->required();
  verb->add_flag("--all", *all, "Every gene of the catalogue, the normal ones too");
  verb->footer("Reckoned from everything said of the animal and all its relatives, not by multiplying percentages.");
  verb->callback([&session, animal, all] { show_genes(session, *animal, *all); });
}

void add_odds(CLI::App& app, Session& session) {
  auto* verb = app.add_subcommand("odds", "What young a pair may give");
  auto options = kept<OddsOptions>();
  verb->add_option("male", options->sire, kCode)->required();
  verb->add_option("female", options->dam, kCode)->required();
  verb->add_option("--eggs", options->eggs, "Eggs of the clutch, for expected numbers")->check(CLI::Range(1, 200));
  verb->add_option("--want", options->wanted, "A look, or several at once: \"amel + anery\"");
  verb->callback([&session, options] { show_odds(session, *options); });
}

void add_prove(CLI::App& app, Session& session) {
  auto* verb = app.add_subcommand(
      "prove", "After how many young that do not show it an animal is free of a gene, to 95 or 99 %");
  auto options = kept<ProveOptions>();
  verb->add_option("animal", options->animal, kCode)->required();
  verb->add_option("gene", options->gene, "A gene of the catalogue")->required();
  verb->add_option("--mate", options->mate, "With this mate; without it, those that prove it fastest");
  verb->callback([&session, options] { show_prove(session, *options); });
}

void add_doubt(CLI::App& app, Session& session) {
  auto* verb = app.add_subcommand("doubt", "Records that are probably wrong, by what everything else says");
  verb->footer("It tells what to look at and changes nothing. A record is told from odds of 20 to 1 against it.");
  verb->callback([&session] { show_doubts(session); });
}

void add_plan(CLI::App& app, Session& session) {
  auto* verb = app.add_subcommand("plan", "Which pairs reach a wanted look soonest, over one and two generations");
  auto options = kept<PlanOptions>();
  verb->add_option("wanted", options->wanted, "Looks, all on one animal: amel anery")->required();
  verb->add_option("--species", options->species, "Where the book has several with such looks");
  verb->add_option("--most", options->most, "Answers of either sort")->check(CLI::Range(1, 100));
  verb->footer(
      "Among the animals that live here and whose sex is known. Whether an animal is fit and of age to breed, "
      "and what pairing it is good for, you and a veterinarian know better.");
  verb->callback([&session, options] { show_plan(session, *options); });
}

void add_kinship(CLI::App& app, Session& session) {
  auto* kin = app.add_subcommand("kin", "How closely two animals are related");
  auto first = kept<std::string>();
  auto second = kept<std::string>();
  kin->add_option("first", *first, kCode)->required();
  kin->add_option("second", *second, kCode)->required();
  kin->callback([&session, first, second] { show_kinship(session, *first, *second); });
  auto* inbreeding = app.add_subcommand("inbreeding", "How inbred an animal is; without one, all that are");
  auto animal = kept<std::string>();
  inbreeding->add_option("animal", *animal, kCode);
  inbreeding->callback([&session, animal] { show_inbreeding(session, *animal); });
}

void add_catalogue(CLI::App& app, Session& session) {
  auto* verb = app.add_subcommand("catalogue", "The genes of each species: looks, inheritance, sources");
  verb->require_subcommand(1);
  verb->add_subcommand("list", "Which there are")->callback([&session] { list_catalogues(session); });
  auto name = kept<std::string>();
  auto* show = verb->add_subcommand("show", "The text of one: save it, edit it, and give it back with `use`");
  show->add_option("species", *name, "As `list` calls it")->required();
  show->callback([&session, name] { show_catalogue(session, *name); });
  auto path = kept<std::string>();
  auto dry = kept<bool>();
  auto* use = verb->add_subcommand("use", "Take a catalogue of your own; it travels with the book");
  use->add_option("file", *path, "A text in the form that `show` prints")->required();
  use->add_flag("--dry-run", *dry, "Only check it");
  use->callback([&session, path, dry] { use_catalogue(session, *path, *dry); });
  auto* drop = verb->add_subcommand("drop", "Go back to the one that came with Rackside");
  drop->add_option("species", *name, "As `list` calls it")->required();
  drop->callback([&session, name] { drop_catalogue(session, *name); });
}

}  // namespace

void add_gene_verbs(CLI::App& app, Session& session) {
  add_genes(app, session);
  add_odds(app, session);
  add_prove(app, session);
  add_plan(app, session);
  add_doubt(app, session);
  add_kinship(app, session);
  add_catalogue(app, session);
}

}  // namespace rackside::cli
