#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

// What is known of a species' genes: loci, alleles, what each pair of alleles looks like. Data that the keeper edits;
// the text form is in catalogue_text.h.
namespace rackside::core::genetics {

enum class Sex : std::uint8_t { unknown, male, female };
std::string_view word_of(Sex sex);

/// XX/XY: males have two different sex chromosomes. ZZ/ZW: females have.
enum class SexSystem : std::uint8_t { unknown, xy, zw };

enum class Linkage : std::uint8_t {
  autosomal,
  sex_linked,  ///< on both sex chromosomes, recombining with what decides the sex at `recombination`
  hemizygous,  ///< absent from the Y or W
};

/// Where an entry of the catalogue comes from. What has no source says so.
struct Source {
  enum class Kind : std::uint8_t { none, published, practice, memory };
  Kind kind = Kind::none;
  std::string text;
};
/// For people: the text, "common practice, no source" or "from memory, unverified: …".
std::string sentence_of(const Source& source);

using AlleleIndex = std::uint8_t;
constexpr AlleleIndex kWild = 0;     ///< the first allele of every locus is the wild type, called "normal"
constexpr unsigned kMaxStates = 64;  ///< genotypes of one locus, both sexes counted where they differ

struct Allele {
  std::string name;
  std::vector<std::string> also;  ///< further names in the trade
  double frequency = 0;           ///< share of the founders' alleles where nothing is known of them: a setting
  Source source;
};

/// A pair of alleles and what comes of it.
struct Pair {
  std::uint8_t look = 0;  ///< of the locus' looks
  bool viable = true;
  std::string name;      ///< of the pair where it has its own ("super", a compound)
  std::string harm;      ///< why it hurts the animal; empty where nothing is known
  Source harm_source;    ///< of `viable` and `harm`
  bool defined = false;  ///< the catalogue says what it looks like
};

/// Somebody who only thinks so calls an animal of the first look the second, with this chance.
struct Mistake {
  std::uint8_t is = 0;
  std::uint8_t called = 0;
  double chance = 0;
};

/// What a look was called before its name turned out to be another's.
struct FormerLook {
  std::string name;
  std::uint8_t look = 0;
};

struct Locus {
  std::string name;
  std::vector<std::string> also;
  Source source;
  Linkage linkage = Linkage::autosomal;
  double recombination = 0.5;
  std::vector<Allele> alleles;     ///< [0] is the wild type
  std::vector<std::string> looks;  ///< [0] is "normal"
  std::vector<FormerLook> former_looks;
  std::vector<Pair> pairs;  ///< by pair_index
  std::vector<Mistake> mistakes;

  std::size_t pair_index(AlleleIndex a, AlleleIndex b) const;
  const Pair& pair(AlleleIndex a, AlleleIndex b) const { return pairs[pair_index(a, b)]; }
  std::optional<std::uint8_t> find_look(std::string_view look) const;   ///< by any of its names
  std::optional<AlleleIndex> find_allele(std::string_view name) const;  ///< by any of its names
};

/// A name for several looks together.
struct Combination {
  struct Part {
    std::uint16_t locus = 0;
    std::uint8_t look = 0;
  };
  std::string name;
  std::vector<Part> parts;
  std::string harm;
  Source source;
};

/// A look that cannot be told on an animal that shows another: "normal" is then no word about it.
struct Hiding {
  Combination::Part shows;
  Combination::Part hidden;
  Source source;
};

struct AlleleRef {
  std::uint16_t locus = 0;
  AlleleIndex allele = 0;
  bool operator==(const AlleleRef&) const = default;
};

/// What breeding told of names: two that are one, or one that is two. Whatever was said under them is read by it.
struct Finding {
  std::string sentence;  ///< "charcoal is another name of anery"
  Source source;
};

struct Species {
  std::string name;  ///< common name
  std::string latin;
  std::vector<std::string> also;
  Source source;
  SexSystem sexes = SexSystem::unknown;
  Source sexes_source;
  double sure = 1;        ///< chance that a look of which the observer is sure is what he says
  double think_so = 0.9;  ///< the same where he only thinks so (our choice, no source)
  std::vector<Locus> loci;
  std::vector<Combination> combinations;
  std::vector<Hiding> hidings;
  std::vector<Finding> findings;

  std::optional<std::uint16_t> find_locus(std::string_view name) const;
  /// All alleles of that name: one trade name may stand for alleles of two loci.
  std::vector<AlleleRef> find_allele(std::string_view name) const;
};

/// Names are compared without regard to case, to spaces at the ends and to runs of spaces.
std::string plain_name(std::string_view name);

}  // namespace rackside::core::genetics
