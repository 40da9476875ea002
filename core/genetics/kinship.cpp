#include "core/genetics/kinship.h"

#include <algorithm>
#include <bit>
#include <map>

#include "core/base/error.h"

namespace rackside::core::genetics {

namespace {

/// Whether an animal is among its own ancestors.
bool is_ringed(const std::vector<Parents>& parents, AnimalIndex animal) {
  std::vector<bool> seen(parents.size());
  std::vector<AnimalIndex> open{parents[animal].sire, parents[animal].dam};
  while (!open.empty()) {
    const AnimalIndex one = open.back();
    open.pop_back();
    if (one == animal) return true;
    if (one >= seen.size() || seen[one]) continue;
    seen[one] = true;
    open.push_back(parents[one].sire);
    open.push_back(parents[one].dam);
  }
  return false;
}

/// Those in a ring, and their ancestors: all others are taken away, the youngest first.
std::vector<AnimalIndex> near_rings(const std::vector<Parents>& parents) {
  std::vector<std::uint32_t> young(parents.size());
  for (const auto& [sire, dam] : parents) {
    if (sire != kNobody) ++young[sire];
    if (dam != kNobody) ++young[dam];
  }
  std::vector<AnimalIndex> open;
  std::vector<bool> clear(parents.size());
  for (AnimalIndex i = 0; i < parents.size(); ++i)
    if (young[i] == 0) open.push_back(i);
  while (!open.empty()) {
    const AnimalIndex one = open.back();
    open.pop_back();
    clear[one] = true;
    for (AnimalIndex parent : {parents[one].sire, parents[one].dam})
      if (parent != kNobody && --young[parent] == 0) open.push_back(parent);
  }
  std::vector<AnimalIndex> out;
  for (AnimalIndex i = 0; i < parents.size(); ++i)
    if (!clear[i]) out.push_back(i);
  return out;
}

/// Parent records inside a ring are all suspect: none is used.
void drop_rings(std::vector<Parents>& parents) {
  std::vector<AnimalIndex> ringed;
  for (AnimalIndex one : near_rings(parents))
    if (is_ringed(parents, one)) ringed.push_back(one);
  for (AnimalIndex one : ringed) parents[one] = {};
}

}  // namespace

std::vector<Parents> parents_of(const Collection& collection) {
  std::vector<Parents> out;
  for (const Animal& animal : collection.animals) {
    Parents parents{.dam = animal.dam};
    if (animal.siring < collection.sirings.size()) {
      const auto& possible = collection.sirings[animal.siring].possible;
      if (possible.size() == 1) parents.sire = possible.front().sire;
    }
    out.push_back(parents);
  }
  drop_rings(out);
  return out;
}

bool rests_on_possible_sires(const Collection& collection, AnimalIndex first, AnimalIndex second) {
  const std::vector<Parents> parents = parents_of(collection);
  std::vector<bool> seen(parents.size());
  std::vector<AnimalIndex> open{first, second};
  while (!open.empty()) {
    const AnimalIndex one = open.back();
    open.pop_back();
    if (one >= seen.size() || seen[one]) continue;
    seen[one] = true;
    const SiringIndex siring = collection.animals[one].siring;
    if (siring < collection.sirings.size() && collection.sirings[siring].possible.size() > 1) return true;
    open.push_back(parents[one].sire);
    open.push_back(parents[one].dam);
  }
  return false;
}

Kinship::Kinship(std::span<const Parents> parents) : parents_(parents.begin(), parents.end()) {
  const std::size_t count = parents_.size();
  std::vector<std::uint32_t> waiting(count);
  std::vector<std::vector<AnimalIndex>> children(count);
  for (AnimalIndex i = 0; i < count; ++i) {
    for (AnimalIndex parent : {parents_[i].sire, parents_[i].dam}) {
      if (parent == kNobody) continue;
      ++waiting[i];
      children[parent].push_back(i);
    }
    if (waiting[i] == 0) order_.push_back(i);
  }
  for (std::size_t at = 0; at < order_.size(); ++at) {
    for (AnimalIndex child : children[order_[at]]) {
      if (--waiting[child] == 0) order_.push_back(child);
    }
  }
  if (order_.size() != count) {
    throw Error(Fault::bad_input,
                "an animal is among its own ancestors, so nobody's inbreeding can be told: mend the parents");
  }
  position_.resize(count);
  for (std::uint32_t at = 0; at < count; ++at) position_[order_[at]] = at;
  share_.assign(count, 0);
  open_.assign(count / 64 + 1, 0);
  inbreeding_.assign(count, 0);
  // Full brothers and sisters have one coefficient.
  std::map<std::pair<AnimalIndex, AnimalIndex>, double> of_pair;
  for (AnimalIndex i : order_) {
    const auto [sire, dam] = parents_[i];
    if (sire == kNobody || dam == kNobody) continue;
    const auto [found, is_new] = of_pair.try_emplace({sire, dam}, 0);
    if (is_new) found->second = of_young(sire, dam);
    inbreeding_[i] = found->second;
  }
}

/// The part of an animal's breeding that its parents do not settle (the diagonal of Henderson's D).
double Kinship::own_share(AnimalIndex sire, AnimalIndex dam) const {
  const double of_sire = sire == kNobody ? -1 : inbreeding_[sire];
  const double of_dam = dam == kNobody ? -1 : inbreeding_[dam];
  return 0.5 - 0.25 * (of_sire + of_dam);
}

void Kinship::add(AnimalIndex animal, double share) const {
  if (animal == kNobody) return;
  const std::uint32_t at = position_[animal];
  open_[at / 64] |= std::uint64_t{1} << at % 64;
  share_[at] += share;
}

double Kinship::of_young(AnimalIndex sire, AnimalIndex dam) const {
  double sum = own_share(sire, dam);
  add(sire, 0.5);
  add(dam, 0.5);
  // Parents stand before their young, so from the last one back nobody is looked at too early.
  std::size_t last = 0;
  for (AnimalIndex parent : {sire, dam}) {
    if (parent != kNobody) last = std::max<std::size_t>(last, position_[parent] / 64 + 1);
  }
  for (std::size_t word = last; word-- > 0;) {
    while (open_[word] != 0) {
      const auto at = static_cast<std::uint32_t>(word * 64 + 63 - static_cast<unsigned>(std::countl_zero(open_[word])));
      open_[word] &= ~(std::uint64_t{1} << at % 64);
      const Parents& above = parents_[order_[at]];
      sum += share_[at] * share_[at] * own_share(above.sire, above.dam);
      add(above.sire, share_[at] / 2);
      add(above.dam, share_[at] / 2);
      share_[at] = 0;
    }
  }
  return sum - 1;
}

double Kinship::kinship(AnimalIndex first, AnimalIndex second) const {
  return of_young(first, second);
}

}  // namespace rackside::core::genetics
