#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "core/genetics/catalogue.h"

namespace rackside::core::genetics {

/// One genotype that an animal can have at a locus. Autosomal: a pair of alleles, `a` <= `b`, whatever the sex.
/// Sex-linked: the sex with two like sex chromosomes has such a pair too; in the other `a` is on the X or Z and `b` on
/// the Y or W, which matters for what it passes on. Hemizygous: there is no `b`.
struct State {
  AlleleIndex a = 0;
  AlleleIndex b = 0;
  bool single = false;     ///< hemizygous: only `a`
  Sex sex = Sex::unknown;  ///< unknown: of either sex
};

using StateMask = std::uint64_t;  ///< a set of states, one bit each

/// Number of states without building them.
std::size_t state_count(const Locus& locus);

/// The genotypes of one locus and Mendel's law between them.
/// Young are counted among those that live: where some genotypes are not viable, a living young is one of the others.
class States {
 public:
  States(const Locus& locus, SexSystem sexes);

  struct Child {
    std::uint8_t state;
    double chance;
  };

  std::size_t size() const { return states_.size(); }
  const State& operator[](std::size_t i) const { return states_[i]; }
  std::uint8_t look(std::size_t i) const { return looks_[i]; }
  const Pair& pair(std::size_t i) const;
  std::string name(std::size_t i) const;  ///< "amel/normal"
  bool sex_matters() const { return linkage_ != Linkage::autosomal; }
  /// How many copies of the allele.
  int copies(std::size_t i, AlleleIndex allele) const;

  /// What living young of these parents can be, and their chances; empty where none can live or a parent's sex does not
  /// allow it.
  std::span<const Child> young(std::size_t sire, std::size_t dam) const;
  StateMask reach(std::size_t sire, std::size_t dam) const { return reach_[sire * size() + dam]; }
  /// Share of their eggs that does not live because of this locus.
  double lost(std::size_t sire, std::size_t dam) const { return lost_[sire * size() + dam]; }

  /// The part of it that is lost to this pair of alleles.
  double lost_to(std::size_t sire, std::size_t dam, AlleleIndex a, AlleleIndex b) const;

  StateMask all() const { return all_; }
  StateMask viable() const { return viable_; }
  StateMask wild() const { return wild_; }  ///< no allele but the wild type
  StateMask of_sex(Sex sex) const { return sex == Sex::male ? male_ : sex == Sex::female ? female_ : all_; }
  StateMask carrying(AlleleIndex allele) const { return carrying_[allele]; }
  StateMask looking(std::uint8_t look) const;

  /// Chances of the genotypes of an animal drawn from a population of these allele frequencies (Hardy and Weinberg),
  /// sexes alike, living ones only.
  std::vector<double> population(std::span<const double> frequencies) const;

 private:
  void enumerate(const Locus& locus, SexSystem sexes);
  void cross(std::size_t sire, std::size_t dam);
  /// All that the parents can give, living or not: by state, unscaled.
  std::vector<double> conceived(std::size_t sire, std::size_t dam) const;
  std::size_t place(Sex sex, AlleleIndex from_sire, AlleleIndex from_dam) const;
  double gamete(const State& parent, Sex own, AlleleIndex allele, Sex child) const;
  std::size_t find(AlleleIndex a, AlleleIndex b, Sex sex) const;
  Sex unlike() const { return sexes_ == SexSystem::xy ? Sex::male : Sex::female; }  ///< the sex with two unlike ones

  const Locus* locus_;
  SexSystem sexes_;
  Linkage linkage_;
  std::vector<State> states_;
  std::vector<std::uint8_t> looks_;
  std::vector<std::uint32_t> first_young_;
  std::vector<Child> young_;
  std::vector<StateMask> reach_;
  std::vector<double> lost_;
  std::vector<StateMask> carrying_;
  StateMask all_ = 0, viable_ = 0, wild_ = 0, male_ = 0, female_ = 0;
};

}  // namespace rackside::core::genetics
