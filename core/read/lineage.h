#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "core/genetics/catalogue.h"
#include "core/genetics/collection.h"
#include "core/genetics/said.h"
#include "core/read/reader.h"

// What a book says of its animals' parents and genes, as the genetics want it: one collection a species.
namespace rackside::core {

/// A catalogue that is in use, and where it comes from.
struct UsedCatalogue {
  std::string name;  ///< "corn-snake"
  std::string text;
  std::shared_ptr<const genetics::Species> species;
  bool own = false;     ///< the keeper's own, not the one that came with the program
  std::string problem;  ///< why the keeper's own text is not used, where it is not
};
/// The setting that holds the keeper's own catalogue of that name.
std::string catalogue_setting(std::string_view name);
/// Those that come with the program, the keeper's own in their place and beside them; by name.
std::vector<UsedCatalogue> catalogues(Reader& reader);

/// A statement of the log that could not be used, and why.
struct LeftOut {
  EventRow event = 0;
  Thing animal = 0;
  std::string why;
};

/// The animals of one species. `RecordId`s of the collection are event rows.
struct Lineage {
  std::shared_ptr<const genetics::Species> species;
  genetics::Collection collection;
  std::vector<Thing> things;  ///< by AnimalIndex
  std::unordered_map<Thing, genetics::AnimalIndex> index;
  std::vector<LeftOut> left_out;
  std::optional<genetics::AnimalIndex> find(Thing animal) const;
};

/// An animal that belongs to no lineage: nobody said its species, or there is no catalogue of it.
struct Unplaced {
  Thing animal = 0;
  std::string species;  ///< as the keeper calls it; empty: unknown
};

struct Lineages {
  std::vector<Lineage> all;  ///< by species' name; only those that have animals
  std::vector<Unplaced> unplaced;
  const Lineage* of(Thing animal) const;
};

/// A `says` of the log in the words that `genetics::understand` takes.
genetics::SaidOfGene words_of_statement(const Value& own);

/// How another catalogue reads what was said of a species' animals, by the name of the gene as it was said.
struct Rereading {
  std::map<std::string, std::size_t> lost;     ///< understood now and not then: stays in the log, counts for nothing
  std::map<std::string, std::size_t> gained;   ///< understood then and not now
  std::map<std::string, std::size_t> several;  ///< of one gene now, of one of several then
};
Rereading reread(Reader& reader, const genetics::Species& then);

/// Reads all that was said, withdrawn statements left out. How the words are taken:
/// - young of one dam and one hatch date share their father, where several are possible. Two fathers in a clutch happen
///   (88 % of 34 wild clutches of black ratsnakes: Blouin-Demers, Gibbs & Weatherhead 2005, Anim Behav 69:225-234,
///   abstract read); then each young's own `sire` is to be said;
/// - a `sire` counts before a `possible-sire`; one possible sire alone is weighed at even odds (our choice, no source)
/// against a
///   male that the book does not know, and several `sire`s (nobody knows which is right) against each other;
/// - of two dams the one that was said last counts, and the other is left out;
/// - an animal of which a look was surely seen shows nothing else: whoever describes an animal says what he sees;
/// - without a species an animal is of its parents', else of the only one in the book.
Lineages load_lineages(Reader& reader);

}  // namespace rackside::core
