#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/genetics/catalogue.h"

// What is known of the animals of one species: who descends from whom, and what was said of their genes and looks.
namespace rackside::core::genetics {

using AnimalIndex = std::uint32_t;
constexpr AnimalIndex kNobody = 0xffffffff;
using SiringIndex = std::uint32_t;
constexpr SiringIndex kNoSiring = 0xffffffff;
using RecordId = std::uint64_t;  ///< the caller's name for what was recorded; 0 for none

struct PossibleSire {
  AnimalIndex sire = kNobody;  ///< kNobody: some male that the book does not know
  double weight = 1;           ///< relative to the others'
};
/// Who may have sired the young that share this: one of them, the same for all and at all loci.
struct Siring {
  std::vector<PossibleSire> possible;
  RecordId record = 0;
};

struct Animal {
  Sex sex = Sex::unknown;
  AnimalIndex dam = kNobody;
  SiringIndex siring = kNoSiring;
  RecordId dam_record = 0;
};

enum class Basis : std::uint8_t { seen, bought, parentage, young, laboratory, decided };
std::string_view word_of(Basis basis);

enum class Says : std::uint8_t {
  looks,         ///< the animal has one of the options' looks
  unseen,        ///< parents make this look possible, the observer does not see it
  nothing_else,  ///< at every locus of which no other look is recorded it looks normal
  carries,       ///< at least one copy of `a`
  het,           ///< exactly one copy of `a`
  possible,      ///< one copy of `a` with `chance`, else none: bought so, or what parentage promised
  genotype,      ///< `a` and `b`
  free_of,       ///< no copy of `a`
};

enum class Certainty : std::uint8_t { sure, think_so, cannot_tell };  // the surer first

struct Option {
  std::uint16_t locus = 0;
  std::uint8_t look = 0;
  AlleleIndex a = 0;
  AlleleIndex b = 0;
};

/// Options at several loci mean one of them, the same for the whole statement: of looks that it looks so at one of
/// these loci and normal at the others, of copies that what is said is said of one of these genes. "Unseen" is said of
/// all. Its certainty is that of the whole statement.
struct Statement {
  AnimalIndex animal = 0;
  Basis basis = Basis::seen;
  Says says = Says::looks;
  Certainty certainty = Certainty::sure;
  double chance = 1;  ///< `possible`: of carrying; carries, het, genotype, free_of: that it is so
  std::vector<Option> options;
  bool one_name = false;     ///< the options are the genes of one name: of looks, at least one of them shows, of a
                             ///< founder's just one where nothing else is said of these genes
  std::uint32_t author = 0;  ///< who said it: one saying the same twice counts once
  RecordId record = 0;
};

/// Alleles, looks and animals are named by their place in the catalogue and in `animals`.
struct Collection {
  std::vector<Animal> animals;
  std::vector<Siring> sirings;
  std::vector<Statement> statements;
};

/// What cannot be, and which records say it. Everything it does not touch is answered all the same.
struct Problem {
  enum class Kind : std::uint8_t {
    own_ancestor,          ///< these parent records are not used
    male_dam,              ///< this parent record is not used
    female_sire,           ///< the same
    unknown_reference,     ///< an animal, locus, allele or look that there is not; the statement is not used
    excluding_statements,  ///< of one animal; not used at that locus
    impossible_family,     ///< what was said of relatives does not fit together; no answer there
    hidden_carrier,        ///< fits only if a founder carries what nobody knew of
    too_wide,              ///< no exact answer
  };
  Kind kind = Kind::own_ancestor;
  std::uint16_t locus = 0;
  std::vector<AnimalIndex> animals;
  std::vector<RecordId> records;
};
std::string_view word_of(Problem::Kind kind);

}  // namespace rackside::core::genetics
