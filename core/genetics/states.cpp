#include "core/genetics/states.h"

#include <algorithm>

namespace rackside::core::genetics {
namespace {

constexpr StateMask bit(std::size_t i) {
  return StateMask{1} << i;
}

}  // namespace

std::size_t state_count(const Locus& locus) {
  const std::size_t k = locus.alleles.size();
  const std::size_t pairs = k * (k + 1) / 2;
  switch (locus.linkage) {
    case Linkage::autosomal:
      return pairs;
    case Linkage::sex_linked:
      return pairs + k * k;
    case Linkage::hemizygous:
      return pairs + k;
  }
  return pairs;
}

States::States(const Locus& locus, SexSystem sexes) : locus_(&locus), sexes_(sexes), linkage_(locus.linkage) {
  enumerate(locus, sexes);
  carrying_.resize(locus.alleles.size());
  for (std::size_t i = 0; i < size(); ++i) {
    const State& state = states_[i];
    looks_.push_back(pair(i).look);
    all_ |= bit(i);
    if (pair(i).viable) viable_ |= bit(i);
    if (state.a == kWild && (state.single || state.b == kWild)) wild_ |= bit(i);
    if (state.sex != Sex::female) male_ |= bit(i);
    if (state.sex != Sex::male) female_ |= bit(i);
    carrying_[state.a] |= bit(i);
    if (!state.single) carrying_[state.b] |= bit(i);
  }
  reach_.resize(size() * size());
  lost_.resize(size() * size());
  first_young_.push_back(0);
  for (std::size_t sire = 0; sire < size(); ++sire) {
    for (std::size_t dam = 0; dam < size(); ++dam) cross(sire, dam);
  }
}

void States::enumerate(const Locus& locus, SexSystem) {
  const auto k = static_cast<AlleleIndex>(locus.alleles.size());
  const Sex like = unlike() == Sex::male ? Sex::female : Sex::male;
  const Sex of_pairs = sex_matters() ? like : Sex::unknown;
  for (AlleleIndex b = 0; b < k; ++b) {
    for (AlleleIndex a = 0; a <= b; ++a) states_.push_back({a, b, false, of_pairs});
  }
  if (linkage_ == Linkage::sex_linked) {
    for (AlleleIndex a = 0; a < k; ++a) {
      for (AlleleIndex b = 0; b < k; ++b) states_.push_back({a, b, false, unlike()});
    }
  } else if (linkage_ == Linkage::hemizygous) {
    for (AlleleIndex a = 0; a < k; ++a) states_.push_back({a, a, true, unlike()});
  }
}

const Pair& States::pair(std::size_t i) const {
  return locus_->pair(states_[i].a, states_[i].b);
}

std::string States::name(std::size_t i) const {
  const State& state = states_[i];
  if (state.single) return locus_->alleles[state.a].name;
  const bool turn = sex_matters() && state.sex == unlike() ? false : state.a == kWild;
  const AlleleIndex first = turn ? state.b : state.a;
  const AlleleIndex second = turn ? state.a : state.b;
  return locus_->alleles[first].name + "/" + locus_->alleles[second].name;
}

int States::copies(std::size_t i, AlleleIndex allele) const {
  const State& state = states_[i];
  return (state.a == allele) + (!state.single && state.b == allele);
}

std::span<const States::Child> States::young(std::size_t sire, std::size_t dam) const {
  const std::size_t cell = sire * size() + dam;
  return {young_.data() + first_young_[cell], young_.data() + first_young_[cell + 1]};
}

StateMask States::looking(std::uint8_t look) const {
  StateMask out = 0;
  for (std::size_t i = 0; i < size(); ++i) out |= looks_[i] == look ? bit(i) : 0;
  return out;
}

std::size_t States::find(AlleleIndex a, AlleleIndex b, Sex sex) const {
  const std::size_t k = locus_->alleles.size();
  if (!sex_matters() || sex != unlike()) return locus_->pair_index(a, b);
  const std::size_t pairs = k * (k + 1) / 2;
  return pairs + (linkage_ == Linkage::hemizygous ? a : a * k + b);
}

/// The chance that the parent passes this allele on to young of that sex. The sex with unlike chromosomes gives the X
/// or Z to one sex and the Y or W to the other; recombination exchanges what they carry.
double States::gamete(const State& parent, Sex own, AlleleIndex allele, Sex child) const {
  if (!sex_matters() || own != unlike()) return ((parent.a == allele) + (parent.b == allele)) / 2.0;
  const bool gets_unlike = child == unlike();
  if (parent.single) return gets_unlike ? 0 : parent.a == allele;
  const AlleleIndex kept = gets_unlike ? parent.b : parent.a;
  const AlleleIndex crossed = gets_unlike ? parent.a : parent.b;
  return (kept == allele) * (1 - locus_->recombination) + (crossed == allele) * locus_->recombination;
}

std::size_t States::place(Sex sex, AlleleIndex from_sire, AlleleIndex from_dam) const {
  // What is on the Y or W came from the parent that has one.
  const bool turn = sex_matters() && sex == unlike() && unlike() == Sex::male;
  return find(turn ? from_dam : from_sire, turn ? from_sire : from_dam, sex);
}

std::vector<double> States::conceived(std::size_t sire, std::size_t dam) const {
  std::vector<double> out(size());
  if (states_[sire].sex == Sex::female || states_[dam].sex == Sex::male) return out;
  const auto k = static_cast<AlleleIndex>(locus_->alleles.size());
  for (Sex sex : {Sex::male, Sex::female}) {
    // The one allele that a hemizygous young has comes from the parent with two like chromosomes.
    const bool single = linkage_ == Linkage::hemizygous && sex == unlike();
    for (AlleleIndex p = 0; p < k; ++p) {
      for (AlleleIndex m = 0; m < k; ++m) {
        const double from_sire = single && unlike() == Sex::male ? p == m : gamete(states_[sire], Sex::male, p, sex);
        const double from_dam = single && unlike() == Sex::female ? p == m : gamete(states_[dam], Sex::female, m, sex);
        const double both = from_sire * from_dam / 2;
        if (both > 0) out[place(sex, p, m)] += both;
      }
    }
  }
  return out;
}

void States::cross(std::size_t sire, std::size_t dam) {
  const std::size_t cell = sire * size() + dam;
  const std::vector<double> chances = conceived(sire, dam);
  double& lost = lost_[cell];
  for (std::size_t i = 0; i < size(); ++i) lost += viable_ >> i & 1 ? 0 : chances[i];
  for (std::size_t i = 0; i < size(); ++i) {
    if (chances[i] == 0 || !(viable_ >> i & 1)) continue;
    young_.push_back({static_cast<std::uint8_t>(i), chances[i] / (1 - lost)});
    reach_[cell] |= bit(i);
  }
  first_young_.push_back(static_cast<std::uint32_t>(young_.size()));
}

double States::lost_to(std::size_t sire, std::size_t dam, AlleleIndex a, AlleleIndex b) const {
  const std::vector<double> chances = conceived(sire, dam);
  double out = 0;
  for (std::size_t i = 0; i < size(); ++i) {
    const bool this_pair = std::minmax(states_[i].a, states_[i].b) == std::minmax(a, b);
    if (this_pair && !(viable_ >> i & 1)) out += chances[i];
  }
  return out;
}

std::vector<double> States::population(std::span<const double> frequencies) const {
  std::vector<double> out(size());
  double all = 0;
  for (std::size_t i = 0; i < size(); ++i) {
    const State& state = states_[i];
    if (!pair(i).viable) continue;
    const bool ordered = sex_matters() && state.sex == unlike();
    out[i] = frequencies[state.a] * (state.single ? 1 : frequencies[state.b]);
    if (!ordered && state.a != state.b) out[i] *= 2;
    all += out[i];
  }
  for (double& one : out) one /= all;
  return out;
}

}  // namespace rackside::core::genetics
