#include "core/read/lineage.h"

#include <algorithm>
#include <set>

#include "core/genetics/catalogue_text.h"
#include "core/genetics/said.h"

namespace rackside::core {

using namespace genetics;

namespace {

constexpr std::string_view kCataloguePrefix = "catalogue/";

/// A statement about parents or genes, with its time.
struct Said {
  EventRow event = 0;
  Instant at = 0;
  std::shared_ptr<const Event> text;
};

/// What is known of one animal before it has a place in a lineage.
struct Draft {
  Thing thing = 0;
  std::string species, sex, hatched;
  std::vector<Said> said;  ///< oldest first
};

struct Parentage {
  Thing dam = 0;
  EventRow dam_event = 0;
  std::vector<Thing> sires;
  EventRow sire_event = 0;
  bool certain = false;  ///< one sire, and no other male may be it
};

class Loader {
 public:
  explicit Loader(Reader& reader) : reader_(reader), database_(reader.book().database()) {}

  Lineages load() {
    read_catalogues();
    read_animals();
    read_statements();
    place_animals();
    for (auto& [name, lineage] : by_species_) fill(lineage);
    for (auto& [name, lineage] : by_species_) out_.all.push_back(std::move(lineage));
    return std::move(out_);
  }

 private:
  void read_catalogues() {
    for (const UsedCatalogue& one : catalogues(reader_)) {
      known_.emplace(plain_name(one.species->name), one.species);
      known_.emplace(plain_name(one.species->latin), one.species);
      for (const std::string& also : one.species->also) known_.emplace(plain_name(also), one.species);
    }
  }

  void read_animals() {
    auto query = database_.prepare("SELECT subject FROM field WHERE name = 'registered' AND value = '\"animal\"'");
    while (query.step()) {
      const Thing thing = query.integer(0);
      animals_[thing].thing = thing;
    }
    read_field("species", &Draft::species);
    read_field("sex", &Draft::sex);
    read_field("hatched", &Draft::hatched);
  }

  void read_field(const char* name, std::string Draft::*member) {
    auto query = database_.prepare("SELECT subject, value FROM field WHERE name = ?");
    query.bind(name);
    while (query.step()) {
      const auto animal = animals_.find(query.integer(0));
      const Value value = parse_strict(query.text(1)).value;
      if (animal != animals_.end() && value.as_string()) animal->second.*member = *value.as_string();
    }
  }

  void read_statements() {
    auto query = database_.prepare(
        "SELECT subject, at, event FROM account INDEXED BY account_says WHERE kind = 16 ORDER BY subject, at, event");
    std::vector<std::tuple<Thing, Instant, EventRow>> rows;
    while (query.step()) rows.emplace_back(query.integer(0), query.integer(1), query.integer(2));
    for (const auto& [subject, at, event] : rows) {
      const auto animal = animals_.find(subject);
      if (animal != animals_.end()) animal->second.said.push_back({event, at, reader_.book().log().event_of(event)});
    }
  }

  // ---- which species

  std::shared_ptr<const Species> species_named(const std::string& name) const {
    const auto found = known_.find(plain_name(name));
    return found == known_.end() ? nullptr : found->second;
  }

  /// Of an animal of which nobody said it: its parents', theirs, and so on.
  std::string inherited_species(Thing animal, std::set<Thing>& seen) const {
    const auto found = animals_.find(animal);
    if (found == animals_.end() || !seen.insert(animal).second) return {};
    if (!found->second.species.empty()) return found->second.species;
    for (const Said& one : found->second.said) {
      const auto parent = reader_.thing_of(one.text->own.text("animal"));
      if (one.text->own.text("parent").empty() || !parent) continue;
      std::string species = inherited_species(*parent, seen);
      if (!species.empty()) return species;
    }
    return {};
  }

  std::string only_species() const {
    std::set<std::string> names;
    for (const auto& [thing, animal] : animals_) {
      if (!animal.species.empty()) names.insert(plain_name(animal.species));
    }
    return names.size() == 1 ? *names.begin() : std::string();
  }

  void place_animals() {
    const std::string only = only_species();
    for (const auto& [thing, animal] : animals_) {
      std::set<Thing> seen;
      std::string name = inherited_species(thing, seen);
      if (name.empty()) name = only;
      const auto species = species_named(name);
      if (!species) {
        out_.unplaced.push_back({thing, name});
        continue;
      }
      Lineage& lineage = by_species_[species->name];
      lineage.species = species;
      lineage.index.emplace(thing, static_cast<AnimalIndex>(lineage.things.size()));
      lineage.things.push_back(thing);
    }
  }

  // ---- one species

  void fill(Lineage& lineage) {
    std::map<std::string, SiringIndex> sirings;
    lineage.collection.animals.resize(lineage.things.size());
    for (AnimalIndex i = 0; i < lineage.things.size(); ++i) {
      const Draft& draft = animals_.at(lineage.things[i]);
      Animal& animal = lineage.collection.animals[i];
      animal.sex = draft.sex == "male" ? Sex::male : draft.sex == "female" ? Sex::female : Sex::unknown;
      add_parents(lineage, sirings, draft, animal);
      add_genes(lineage, draft, i);
    }
  }

  void leave_out(Lineage& lineage, const Said& said, Thing animal, std::string why) {
    lineage.left_out.push_back({said.event, animal, std::move(why)});
  }

  std::optional<Thing> parent_in(Lineage& lineage, const Said& said, Thing child) {
    const std::string code(said.text->own.text("animal"));
    const auto parent = reader_.thing_of(code);
    if (parent && lineage.index.contains(*parent)) return parent;
    leave_out(lineage, said, child,
              parent ? "The parent is of another species, or of none that has a catalogue."
                     : "The code " + code + " is of no animal in this book.");
    return std::nullopt;
  }

  Parentage parentage(Lineage& lineage, const Draft& draft) {
    Parentage out;
    std::vector<Thing> possible;
    EventRow possible_event = 0;
    const auto note = [](std::vector<Thing>& list, Thing one) {
      if (std::find(list.begin(), list.end(), one) == list.end()) list.push_back(one);
    };
    Said dam_said;
    for (const Said& said : draft.said) {
      const std::string_view role = said.text->own.text("parent");
      if (role.empty()) continue;
      const auto parent = parent_in(lineage, said, draft.thing);
      if (!parent) continue;
      if (role == "dam") {
        if (out.dam != 0 && out.dam != *parent)
          leave_out(lineage, dam_said, draft.thing, "Another dam was said later; that one counts.");
        out.dam = *parent;
        out.dam_event = said.event;
        dam_said = said;
      } else if (role == "sire") {
        note(out.sires, *parent);
        out.sire_event = said.event;
      } else if (role == "possible-sire") {
        note(possible, *parent);
        possible_event = said.event;
      }
    }
    out.certain = out.sires.size() == 1;
    if (out.sires.empty()) {
      out.sires = std::move(possible);
      out.sire_event = possible_event;
    }
    return out;
  }

  void add_parents(Lineage& lineage, std::map<std::string, SiringIndex>& sirings, const Draft& draft, Animal& animal) {
    const Parentage parents = parentage(lineage, draft);
    if (parents.dam != 0) {
      animal.dam = lineage.index.at(parents.dam);
      animal.dam_record = static_cast<RecordId>(parents.dam_event);
    }
    if (parents.sires.empty() && parents.dam == 0) return;
    std::vector<Thing> sires = parents.sires;
    std::sort(sires.begin(), sires.end());
    // Without a hatch date nobody knows who are clutch mates: each has a father of its own.
    std::string key = std::to_string(parents.dam) + "|" +
                      (draft.hatched.empty() ? "#" + std::to_string(draft.thing) : draft.hatched) +
                      (parents.certain ? "|one" : "|some");
    for (Thing sire : sires) key += "|" + std::to_string(sire);
    const auto [known, fresh] = sirings.emplace(key, static_cast<SiringIndex>(lineage.collection.sirings.size()));
    animal.siring = known->second;
    if (!fresh) return;
    Siring siring{.record = static_cast<RecordId>(parents.sire_event)};
    for (Thing sire : sires) siring.possible.push_back({lineage.index.at(sire), 1});
    // Even odds, one possible sire against all strangers: our choice, no source.
    if (sires.empty() || (sires.size() == 1 && !parents.certain)) siring.possible.push_back({kNobody, 1});
    lineage.collection.sirings.push_back(std::move(siring));
  }

  std::uint32_t author_of(const Said& said) {
    const std::string name =
        said.text->by.empty() ? "device " + to_hex(reader_.book().log().ref_of(said.event).device) : said.text->by;
    return authors_.emplace(name, static_cast<std::uint32_t>(authors_.size())).first->second;
  }

  void add_genes(Lineage& lineage, const Draft& draft, AnimalIndex index) {
    bool described = false;
    bool said_normal = false;
    std::uint32_t describer = 0;
    RecordId record = 0;
    for (const Said& said : draft.said) {
      const Value& own = said.text->own;
      if (!own.text("parent").empty() || own.text("state").empty()) continue;
      Understood understood = understand(*lineage.species, words_of_statement(own));
      if (!understood.problem.empty()) {
        leave_out(lineage, said, draft.thing, understood.problem);
        continue;
      }
      for (genetics::Statement& one : understood.statements) {
        one.animal = index;
        one.author = author_of(said);
        one.record = static_cast<RecordId>(said.event);
        said_normal |= one.says == Says::nothing_else;
        if (one.says == Says::looks && one.certainty == Certainty::sure) {
          described = true;
          describer = one.author;
          record = one.record;
        }
        lineage.collection.statements.push_back(std::move(one));
      }
    }
    if (described && !said_normal) {
      lineage.collection.statements.push_back(
          {.animal = index, .says = Says::nothing_else, .author = describer, .record = record});
    }
  }

  Reader& reader_;
  Database& database_;
  std::map<std::string, std::shared_ptr<const Species>> known_;
  std::map<Thing, Draft> animals_;
  std::map<std::string, Lineage> by_species_;
  std::map<std::string, std::uint32_t> authors_;
  Lineages out_;
};

}  // namespace

genetics::SaidOfGene words_of_statement(const Value& own) {
  SaidOfGene out{
      .state = own.text("state"),
      .basis = own.text("basis"),
      .certainty = own.text("certainty"),
      .chance_percent = static_cast<unsigned>(std::clamp<std::int64_t>(own.number("chance_percent", 50), 0, 100))};
  if (!own.text("gene").empty()) out.genes.emplace_back(own.text("gene"));
  const Value* others = own.find("or");
  if (others && others->as_array()) {
    for (const Value& other : *others->as_array()) {
      if (other.as_string()) out.genes.push_back(*other.as_string());
    }
  }
  return out;
}

std::string catalogue_setting(std::string_view name) {
  return std::string(kCataloguePrefix) + std::string(name);
}

std::vector<UsedCatalogue> catalogues(Reader& reader) {
  std::map<std::string, UsedCatalogue> out;
  for (const ShippedCatalogue& one : shipped_catalogues()) {
    CatalogueRead read = read_catalogue(one.text);
    const std::string name(one.name);
    out[name] = {name, std::string(one.text), std::make_shared<Species>(std::move(read.species)), false, {}};
  }
  auto query = reader.book().database().prepare("SELECT key, value FROM setting WHERE key >= ? AND key < ?");
  query.bind(kCataloguePrefix, std::string(kCataloguePrefix.substr(0, kCataloguePrefix.size() - 1)) + "0");
  while (query.step()) {
    const std::string name = std::string(query.text(0)).substr(kCataloguePrefix.size());
    const Value value = parse_strict(query.text(1)).value;
    if (!value.as_string() || value.as_string()->empty()) continue;  // given back: the shipped one counts again
    CatalogueRead read = read_catalogue(*value.as_string());
    if (read.good()) {
      out[name] = {name, *value.as_string(), std::make_shared<Species>(std::move(read.species)), true, {}};
    } else if (out.contains(name)) {
      out[name].problem = "line " + std::to_string(read.errors[0].line) + ": " + read.errors[0].message;
    }
  }
  std::vector<UsedCatalogue> list;
  for (auto& [name, one] : out) list.push_back(std::move(one));
  return list;
}

std::optional<AnimalIndex> Lineage::find(Thing animal) const {
  const auto found = index.find(animal);
  return found == index.end() ? std::nullopt : std::optional(found->second);
}

const Lineage* Lineages::of(Thing animal) const {
  for (const Lineage& one : all) {
    if (one.index.contains(animal)) return &one;
  }
  return nullptr;
}

Rereading reread(Reader& reader, const Species& then) {
  Rereading out;
  const Lineages lineages = load_lineages(reader);
  for (const Lineage& lineage : lineages.all) {
    if (plain_name(lineage.species->name) != plain_name(then.name)) continue;
    auto query = reader.book().database().prepare(
        "SELECT subject, event FROM account INDEXED BY account_says WHERE kind = 16 ORDER BY subject, at, event");
    while (query.step()) {
      if (!lineage.index.contains(query.integer(0))) continue;
      const auto event = reader.book().log().event_of(query.integer(1));
      if (event->own.text("state").empty() || event->own.text("gene").empty()) continue;
      const std::string name(event->own.text("gene"));
      const Understood before = understand(*lineage.species, words_of_statement(event->own));
      const Understood after = understand(then, words_of_statement(event->own));
      if (before.problem.empty() && !after.problem.empty()) ++out.lost[name];
      if (!before.problem.empty() && after.problem.empty()) ++out.gained[name];
      if (!before.problem.empty() || !after.problem.empty()) continue;
      if (after.statements.front().options.size() > before.statements.front().options.size()) ++out.several[name];
    }
  }
  return out;
}

Lineages load_lineages(Reader& reader) {
  return Loader(reader).load();
}

}  // namespace rackside::core
