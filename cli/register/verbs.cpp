#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "cli/register/fields.h"
#include "cli/session.h"
#include "cli/verbs.h"
#include "cli/wording.h"
#include "core/genetics/said.h"
#include "core/read/lineage.h"

namespace rackside::cli {
namespace {

using namespace core;
using Json = nlohmann::json;

// ---- init

/// The root's key admits and retires devices; it is needed only when the hub is lost, so it lives in a file of its own.
void write_secret_file(const std::string& path, const std::string& text) {
  const int file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  if (file < 0)
    throw Error(Fault::book_exists,
                "Cannot write the key file " + path + ": a file of that name exists, or the folder is read-only.");
  const bool written =
      ::write(file, text.data(), text.size()) == static_cast<ssize_t>(text.size()) && ::fsync(file) == 0;
  ::close(file);
  if (!written)
    throw Error(Fault::disk_full, "The key file " + path + " could not be written whole. Free some room and repeat.");
}

void make_folder_for(const std::string& path) {
  const auto folder = std::filesystem::path(path).parent_path();
  std::error_code error;
  if (!folder.empty()) std::filesystem::create_directories(folder, error);
  if (error) throw Error(Fault::no_book, "The folder " + folder.string() + " cannot be made: " + error.message() + ".");
}

struct InitOptions {
  std::string keeper;
};

void init(Session& session, const InitOptions& options) {
  const std::string path = session.path();
  const std::string key_path = path + ".root-key";
  if (std::filesystem::exists(path)) {
    throw Error(Fault::book_exists,
                "There is already a book at " + path + ". Use it as it is, or choose another place with --book.");
  }
  make_folder_for(path);
  Book::Founding founding{.keeper = options.keeper,
                          .zone = system_zone(session.now()),
                          .root = KeyPair::generate(),
                          .device = KeyPair::generate(),
                          .salt = random_array<16>(),
                          .keeper_code = Code::generate(CodeKind::helper, fill_random)};
  write_secret_file(key_path, to_hex(founding.root.secret()) + "\n");
  try {
    Book::create(path, founding, session.clock()).tidy();
  } catch (...) {
    std::error_code ignored;
    for (const char* ending : {"", "-wal", "-shm", "-lock", ".root-key"})
      std::filesystem::remove(path + ending, ignored);
    throw;
  }
  if (session.json) {
    session.terminal.line(Json{{"book", path}, {"root_key", key_path}, {"keeper", founding.keeper_code.str()}}.dump());
    return;
  }
  session.terminal.good("A new book: " + session.terminal.strong(path));
  session.terminal.line("  Keep " + key_path + " somewhere safe, away from this computer:");
  session.terminal.line("  with it you can admit a new hub if this one is lost or stolen.");
  session.terminal.line();
  session.terminal.line(
      "Next: `rackside rack add A --places 12`, then `rackside animal add C-1 --species \"corn snake\" --at A-01`.");
}

// ---- racks

void add_rack(Session& session, const RackOptions& options) {
  const NewRack rack = new_rack(session, options);
  session.record(rack.drafts);
  Json places = Json::array();
  for (const auto& [name, code] : rack.places) places.push_back({{"code", code}, {"short", name}});
  if (session.json) {
    session.terminal.line(Json{{"code", rack.code.str()}, {"short", options.name}, {"places", places}}.dump());
  } else {
    session.terminal.good(fmt::format("Rack {} with {} places, {} to {}, in this order of the walk.",
                                      session.terminal.name(options.name), options.places, rack.places.front().first,
                                      rack.places.back().first));
  }
}

// ---- animals

void add_animal(Session& session, AnimalOptions options) {
  if (options.short_id.empty()) throw bad_value("Give the animal your own short ID, as in `rackside animal add C-14`.");
  refuse_known_short_id(session, options.short_id);
  const Code code = session.new_code(CodeKind::animal);
  std::vector<Draft> drafts{animal_registration(code, options)};
  std::string where;
  if (!options.place.empty()) {
    const Named place = session.find_place(options.place);
    Reader reader = session.reader();
    drafts.push_back({.kind = Kind::moved,
                      .of = {code.str()},
                      .place = place.code,
                      .re = believed_occupancy(reader, 0, place.thing, session.now())});
    where = " at " + session.terminal.name(place.label);
  }
  session.record(std::move(drafts));
  if (session.json) {
    session.terminal.line(Json{{"code", code.str()}, {"short", options.short_id}}.dump());
  } else {
    session.terminal.good("Animal " + session.terminal.name(options.short_id) + where + ", code " + code.spaced() +
                          ".");
  }
}

/// The form showed the values that it replaces: their events are named, so that a correction is told from a
/// contradiction.
std::vector<Answer> shown_values(Reader& reader, Thing thing, const Value& set) {
  std::vector<Answer> re;
  for (const auto& [name, value] : *set.as_object()) {
    const auto source = reader.field_source(thing, name);
    if (!source) continue;
    const bool known = std::any_of(re.begin(), re.end(), [&](const Answer& a) { return a.event == *source; });
    if (!known) re.push_back({*source, Relation::saw});
  }
  return re;
}

void edit_animal(Session& session, const AnimalOptions& options) {
  const Named animal = session.find_animal(options.id);
  const Value set = set_of(options);
  if (set.as_object()->empty() && options.supplier.empty())
    throw bad_value(
        "Say what to change: --sex, --species, --name, --short, --hatched, --acquired, --supplier, --prey, --every.");
  if (!options.short_id.empty() && options.short_id != animal.label) refuse_known_short_id(session, options.short_id);
  Reader reader = session.reader();
  Draft draft{.kind = Kind::edited,
              .of = {animal.code},
              .re = shown_values(reader, animal.thing, set),
              .own = Value::Object{{"set", set}}};
  if (!options.supplier.empty()) draft.text = write_compact(Value::Object{{"supplier", mend_text(options.supplier)}});
  session.record({std::move(draft)});
  if (session.json) {
    session.terminal.line(Json{{"code", animal.code}, {"edited", true}}.dump());
  } else {
    session.terminal.good("Changed " + session.terminal.name(animal.label) +
                          "; what stood there before stays in its history.");
  }
}

// ---- places

struct MoveOptions {
  std::string animal, place, by, at;
};

Draft move_draft(Session& session, const MoveOptions& options) {
  Draft draft;
  if (!options.by.empty()) draft.by = session.find(options.by, {"helper"}).code;
  if (!options.at.empty()) draft.said = session.parse_at(options.at);
  return draft;
}

void put(Session& session, const MoveOptions& options) {
  const Named animal = session.find_animal(options.animal);
  const Named place = session.find_place(options.place);
  Reader reader = session.reader();
  const auto there = reader.homes_at(place.thing, session.now());
  Draft draft = move_draft(session, options);
  draft.kind = Kind::moved;
  draft.of = {animal.code};
  draft.place = place.code;
  draft.re = believed_occupancy(reader, animal.thing, place.thing, session.now());
  session.record({draft});
  session.terminal.good(session.terminal.name(animal.label) + " is at " + session.terminal.name(place.label) + ".");
  for (const Lodging& other : there) {
    if (other.animal == animal.thing) continue;
    session.terminal.warn(
        fmt::format("By the book {} lives there too. If that is so, move one of them now: snakes eat snakes.",
                    reader.label(other.animal)));
  }
}

std::optional<Lodging> home_of(Reader& reader, Thing animal, Instant now) {
  for (const Lodging& lodging : reader.lodgings_of(animal, now)) {
    if (lodging.role == Stay::Role::home) return lodging;
  }
  return std::nullopt;
}

void swap_places(Session& session, const MoveOptions& options) {
  const Named first = session.find_animal(options.animal);
  const Named second = session.find_animal(options.place);
  Reader reader = session.reader();
  const auto home = home_of(reader, first.thing, session.now());
  const auto other = home_of(reader, second.thing, session.now());
  if (!home || !other) {
    throw Error(Fault::bad_input, "By the book " + (home ? second.label : first.label) +
                                      " has no place, so they cannot change places. Use `rackside put` for each.");
  }
  Draft draft = move_draft(session, options);
  draft.kind = Kind::swapped;
  draft.of = {first.code, second.code};
  draft.re = {{home->by, Relation::saw}};
  if (other->by != home->by) draft.re.push_back({other->by, Relation::saw});
  const Named first_place = reader.named(home->place);
  const Named second_place = reader.named(other->place);
  draft.own = Value::Object{{"to", Value::Array{second_place.code, first_place.code}}};
  session.record({draft});
  session.terminal.good(fmt::format("{} is at {}, {} at {}.", session.terminal.name(first.label), second_place.label,
                                    session.terminal.name(second.label), first_place.label));
}

// ---- helpers

void add_helper(Session& session, const std::string& name) {
  const Code code = session.new_code(CodeKind::helper);
  Draft draft = registration(Kind::helper, code, Value::Object{{"role", "helper"}});
  draft.text = write_compact(Value::Object{{"name", mend_text(name)}});
  session.record({draft});
  if (session.json) {
    session.terminal.line(Json{{"code", code.str()}, {"name", name}}.dump());
  } else {
    session.terminal.good("Helper " + session.terminal.name(name) + ", code " + code.spaced() +
                          ". The name is sealed: it can be erased later, the code stays.");
  }
}

// ---- statements

struct SaysOptions {
  std::string animal, what, object, basis = "unknown", certainty, note;
  std::vector<std::string> others;
  std::optional<int> chance;  ///< per cent
};

std::string listed(const std::vector<std::string>& words) {
  std::string out;
  for (const std::string& word : words) out += (out.empty() ? "" : ", ") + word;
  return out;
}

bool contains(const std::vector<std::string>& words, const std::string& word) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

std::vector<std::string> gene_words() {
  std::vector<std::string> out;
  for (const genetics::GeneState& one : genetics::gene_states()) out.emplace_back(one.word);
  return out;
}

std::vector<std::string> words(std::span<const std::string_view> list) {
  return {list.begin(), list.end()};
}

/// A gene that the catalogue does not know is saved as said, and told: the catalogue may learn it later.
void tell_if_unknown(Session& session, Reader& reader, const Named& animal, const SaysOptions& options) {
  genetics::SaidOfGene said{.state = options.what, .basis = options.basis, .certainty = options.certainty};
  said.genes.push_back(options.object);
  said.genes.insert(said.genes.end(), options.others.begin(), options.others.end());
  const std::string species = genetics::plain_name(reader.field(animal.thing, "species"));
  for (const UsedCatalogue& one : catalogues(reader)) {
    const auto& names = one.species->also;
    const bool meant = genetics::plain_name(one.species->name) == species ||
                       std::any_of(names.begin(), names.end(),
                                   [&](const auto& also) { return genetics::plain_name(also) == species; });
    if (!meant) continue;
    const genetics::Understood understood = genetics::understand(*one.species, said);
    if (!understood.problem.empty())
      session.terminal.warn(understood.problem + " Saved as said; it counts for no odds until the names agree.");
    else if (said.genes.size() == 1 && genetics::alleles_named(*one.species, options.object).size() > 1)
      session.terminal.line(genetics::several_genes(*one.species, options.object) +
                            " Until then it is weighed over them.");
  }
}

Value gene_statement(const SaysOptions& options, std::string& text) {
  Value own = Value::Object{{"basis", options.basis}, {"state", options.what}};
  if (options.what == "normal") {
    if (!options.object.empty() || !options.others.empty())
      throw bad_value("`normal` says that nothing else is seen, and takes no gene.");
    text = "normal";
  } else if (options.object.empty()) {
    throw bad_value("Name the gene: " + options.what + " WHAT?");
  } else {
    own.set("gene", mend_text(options.object));
    text = options.what + " " + options.object;
  }
  if (!options.others.empty()) {
    if (options.what != "visual") throw bad_value("--or is for what is seen: visual amel --or hypo.");
    Value::Array others;
    for (const std::string& other : options.others) {
      others.emplace_back(mend_text(other));
      text += " or " + other;
    }
    own.set("or", std::move(others));
  }
  if (!options.certainty.empty()) {
    if (options.what != "visual" && options.what != "normal" && options.what != "unseen")
      throw bad_value(
          "--certainty is how sure the eye was; of copies say their chance: possible-het amel --chance 90.");
    own.set("certainty", options.certainty);
    text += " (" + options.certainty + ")";
  }
  if (options.what != "possible-het") return own;
  const int chance = options.chance.value_or(50);
  if (chance < 1 || chance > 99) throw bad_value("--chance is a percentage from 1 to 99; for a certain one say `het`.");
  own.set("chance_percent", chance);
  text = fmt::format("{} % het {}", chance, options.object);
  return own;
}

void says(Session& session, const SaysOptions& options) {
  const Named animal = session.find_animal(options.animal);
  const auto refuse_other_than = [](const std::vector<std::string>& known, const std::string& word, const char* what) {
    if (!word.empty() && !contains(known, word))
      throw bad_value(std::string(what) + " is one of " + listed(known) + ".");
  };
  refuse_other_than(words(genetics::bases()), options.basis, "--basis");
  refuse_other_than(words(genetics::certainties()), options.certainty, "--certainty");
  Value own;
  std::string text;
  Reader reader = session.reader();
  if (contains(gene_words(), options.what)) {
    own = gene_statement(options, text);
    tell_if_unknown(session, reader, animal, options);
  } else if (contains(kParents, options.what)) {
    if (options.object.empty()) throw bad_value("Name the parent: " + options.what + " WHO?");
    const Named parent = session.find_animal(options.object);
    if (parent.thing == animal.thing)
      session.terminal.warn("An animal is not its own parent: wrong animal, or wrong record? Saved as said.");
    own = Value::Object{{"basis", options.basis}, {"parent", options.what}, {"animal", parent.code}};
    text = options.what + " " + parent.label;
  } else {
    throw bad_value("“" + options.what + "” is no statement: say " + listed(gene_words()) + " and a gene, or " +
                    listed(kParents) + " and an animal.");
  }
  Draft draft{.kind = Kind::says, .of = {animal.code}, .own = std::move(own)};
  if (!options.note.empty()) draft.text = write_compact(Value::Object{{"note", mend_text(options.note)}});
  session.record({draft});
  const std::string basis = basis_text(options.basis);
  session.terminal.good(fmt::format("{}: {}{}. Statements are kept side by side, never overwritten.",
                                    session.terminal.name(animal.label), text, basis.empty() ? "" : ", " + basis));
}

template <typename Options, typename Run>
void run_with(CLI::App* verb, Session& session, std::shared_ptr<Options> options, const Run& run) {
  verb->callback([&session, options, run] { run(session, *options); });
}

void animal_fields(CLI::App* verb, AnimalOptions& options) {
  verb->add_option("--name", options.name, "A name, if it has one");
  verb->add_option("--species", options.species, "As you call it: \"corn snake\", \"ball python\" …");
  verb->add_option("--sex", options.sex, "male, female or unknown");
  verb->add_option("--hatched", options.hatched, "2024, 2024-07 or 2024-07-15");
  verb->add_option("--acquired", options.acquired, "The day it came: 2024-07-15, or 2024-07, 2024");
  verb->add_option("--supplier", options.supplier, "From whom (sealed; can be erased). Stands in `register`");
  verb->add_option("--prey", options.prey, "What it is fed: small-rat, hopper … your own words");
  verb->add_option("--every", options.every, "Days between meals: 7 or 7-10 (else by age, a rule of thumb)");
}

}  // namespace

void add_register_verbs(CLI::App& app, Session& session) {
  auto* init_verb = app.add_subcommand("init", "Start a new book on this computer");
  auto init_options = std::make_shared<InitOptions>();
  init_verb->add_option("--keeper,keeper", init_options->keeper,
                        "Your name, as helpers know you (sealed; can be erased)");
  run_with(init_verb, session, init_options, init);

  auto* rack = app.add_subcommand("rack", "Racks and their places");
  rack->require_subcommand(1);
  auto* rack_add = rack->add_subcommand("add", "Register a rack and its places in walking order");
  auto rack_options = std::make_shared<RackOptions>();
  rack_add->add_option("name", rack_options->name, "Short name: A")->required();
  rack_add->add_option("--places", rack_options->places, "How many tubs it holds, in the order you walk past them")
      ->required();
  rack_add->add_option("--walk", rack_options->walk, "Its turn in the walk (default: after the racks there are)");
  rack_add->add_flag("--quarantine", rack_options->quarantine, "Walked last");
  run_with(rack_add, session, rack_options, add_rack);

  auto* animal = app.add_subcommand("animal", "Register an animal or change its record");
  animal->require_subcommand(1);
  auto* animal_add = animal->add_subcommand("add", "Register an animal; what is unknown stays unknown");
  auto new_animal = std::make_shared<AnimalOptions>();
  animal_add->add_option("short", new_animal->short_id, "Your own short ID: C-14, 24-Okeetee-3")->required();
  animal_add->add_option("--at", new_animal->place, "The place it lives at: B-07");
  animal_fields(animal_add, *new_animal);
  run_with(animal_add, session, new_animal, add_animal);
  auto* animal_edit =
      animal->add_subcommand("edit", "Change what the register says; genes and parents are statements: see `says`");
  auto edited = std::make_shared<AnimalOptions>();
  animal_edit->add_option("animal", edited->id, "Code or short ID")->required();
  animal_edit->add_option("--short", edited->short_id, "A new short ID");
  animal_fields(animal_edit, *edited);
  run_with(animal_edit, session, edited, edit_animal);

  auto* put_verb = app.add_subcommand("put", "An animal lives at a place from now on");
  auto put_options = std::make_shared<MoveOptions>();
  put_verb->add_option("animal", put_options->animal, "Code or short ID")->required();
  put_verb->add_option("place", put_options->place, "Code or short ID of the place")->required();
  put_verb->add_option("--at", put_options->at, "When: \"yesterday 19:30\", 2h ago");
  put_verb->add_option("--by", put_options->by, "The helper who did it");
  run_with(put_verb, session, put_options, put);
  auto* swap_verb = app.add_subcommand("swap", "Two animals change places");
  auto swap_options = std::make_shared<MoveOptions>();
  swap_verb->add_option("first", swap_options->animal, "Code or short ID")->required();
  swap_verb->add_option("second", swap_options->place, "Code or short ID of the other animal")->required();
  swap_verb->add_option("--at", swap_options->at, "When");
  swap_verb->add_option("--by", swap_options->by, "The helper who did it");
  run_with(swap_verb, session, swap_options, swap_places);

  auto* helper = app.add_subcommand("helper", "The people who help");
  helper->require_subcommand(1);
  auto* helper_add = helper->add_subcommand("add", "Register a helper");
  auto helper_name = std::make_shared<std::string>();
  helper_add->add_option("name", *helper_name, "The helper's name (sealed; can be erased)")->required();
  helper_add->callback([&session, helper_name] { add_helper(session, *helper_name); });

  auto* says_verb =
      app.add_subcommand("says", "State what an animal carries or who its parents are, and on what basis");
  auto says_options = std::make_shared<SaysOptions>();
  says_verb->add_option("animal", says_options->animal, "Code or short ID")->required();
  says_verb->add_option("what", says_options->what, listed(gene_words()) + "; " + listed(kParents))->required();
  says_verb->add_option("object", says_options->object, "The gene, or the parent (`normal` takes none)");
  says_verb->add_option("--basis", says_options->basis, listed(words(genetics::bases())));
  says_verb->add_option("--certainty", says_options->certainty,
                        listed(words(genetics::certainties())) + ": how sure the eye was");
  says_verb->add_option("--or", says_options->others, "It may be this gene instead: look-alikes, one --or for each");
  says_verb->add_option("--chance", says_options->chance, "Per cent, for possible-het");
  says_verb->footer([] {
    std::string out =
        "Young of one dam and one hatch day are taken to have one father. Two fathers in a clutch happen; then say "
        "each "
        "young's own sire.";
    for (const genetics::GeneState& one : genetics::gene_states())
      out += fmt::format("\n{:<14}{}", one.word, one.meaning);
    return out;
  });
  says_verb->add_option("--note", says_options->note, "Free text");
  run_with(says_verb, session, says_options, says);
}

}  // namespace rackside::cli
