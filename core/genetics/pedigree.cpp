#include "core/genetics/pedigree.h"

#include <algorithm>
#include <set>

namespace rackside::core::genetics {
namespace {

std::vector<AnimalIndex> parents_of(const Collection& collection, const Animal& animal) {
  std::vector<AnimalIndex> out;
  const auto count = collection.animals.size();
  if (animal.dam < count) out.push_back(animal.dam);
  if (animal.siring < collection.sirings.size()) {
    for (const PossibleSire& one : collection.sirings[animal.siring].possible) {
      if (one.sire < count && one.weight > 0) out.push_back(one.sire);
    }
  }
  return out;
}

/// Animals whose parents are all placed before them; those in or below a ring are left out.
std::vector<AnimalIndex> parents_first(const Collection& collection, const std::vector<Animal>& animals,
                                       AnimalIndex first) {
  std::vector<std::uint32_t> waiting(animals.size());
  std::vector<std::vector<AnimalIndex>> children(animals.size());
  std::vector<AnimalIndex> out;
  for (AnimalIndex i = first; i < animals.size(); ++i) {
    for (AnimalIndex parent : parents_of(collection, animals[i])) {
      if (parent < first) continue;
      ++waiting[i];
      children[parent].push_back(i);
    }
    if (waiting[i] == 0) out.push_back(i);
  }
  for (std::size_t at = 0; at < out.size(); ++at) {
    for (AnimalIndex child : children[out[at]]) {
      if (--waiting[child] == 0) out.push_back(child);
    }
  }
  return out;
}

bool descends_from(const Collection& collection, const std::vector<Animal>& animals, AnimalIndex animal,
                   AnimalIndex ancestor) {
  std::vector<AnimalIndex> open{animal};
  std::set<AnimalIndex> seen;
  while (!open.empty()) {
    const AnimalIndex at = open.back();
    open.pop_back();
    for (AnimalIndex parent : parents_of(collection, animals[at])) {
      if (parent == ancestor) return true;
      if (seen.insert(parent).second) open.push_back(parent);
    }
  }
  return false;
}

void add_record(Problem& problem, RecordId record) {
  if (record && std::find(problem.records.begin(), problem.records.end(), record) == problem.records.end()) {
    problem.records.push_back(record);
  }
}

}  // namespace

/// Parent records inside a ring are all suspect: none is used, and the problem names them.
std::vector<Animal> Pedigree::without_rings(const Collection& collection, AnimalIndex first) {
  std::vector<Animal> animals = collection.animals;
  const auto good = parents_first(collection, animals, first);
  if (good.size() + first == animals.size()) return animals;
  std::vector<bool> placed(animals.size(), false);
  for (AnimalIndex one : good) placed[one] = true;
  std::vector<AnimalIndex> ringed;
  for (AnimalIndex i = first; i < animals.size(); ++i) {
    if (!placed[i] && descends_from(collection, collection.animals, i, i)) ringed.push_back(i);
  }
  std::vector<bool> reported(animals.size());
  for (AnimalIndex i : ringed) {
    Problem problem{.kind = Problem::Kind::own_ancestor};
    for (AnimalIndex j : ringed) {
      const bool same_ring = i == j || (descends_from(collection, collection.animals, i, j) &&
                                        descends_from(collection, collection.animals, j, i));
      if (!same_ring || reported[j]) continue;
      reported[j] = true;
      problem.animals.push_back(j);
      add_record(problem, collection.animals[j].dam_record);
      const SiringIndex siring = collection.animals[j].siring;
      if (siring < collection.sirings.size()) add_record(problem, collection.sirings[siring].record);
    }
    if (!problem.animals.empty()) problems.push_back(problem);
    animals[i].dam = kNobody;
    animals[i].siring = kNoSiring;
  }
  return animals;
}

void Pedigree::check_sexes(const Collection& collection, std::vector<Animal>& animals, AnimalIndex first) {
  for (AnimalIndex i = first; i < animals.size(); ++i) {
    Animal& animal = animals[i];
    if (animal.dam != kNobody && animal.dam >= animals.size()) {
      problems.push_back({Problem::Kind::unknown_reference, 0, {i}, {animal.dam_record}});
      animal.dam = kNobody;
    } else if (animal.dam != kNobody && animals[animal.dam].sex == Sex::male) {
      problems.push_back({Problem::Kind::male_dam, 0, {animal.dam, i}, {animal.dam_record}});
      animal.dam = kNobody;
    }
    if (animal.siring != kNoSiring && animal.siring >= collection.sirings.size()) {
      problems.push_back({Problem::Kind::unknown_reference, 0, {i}, {}});
      animal.siring = kNoSiring;
    }
  }
}

NodeIndex Pedigree::add_node(const Node& node) {
  const auto index = static_cast<NodeIndex>(nodes.size());
  nodes.push_back(node);
  children.emplace_back();
  if (node.sire != kNoNode) children[node.sire].push_back(index);
  if (node.dam != kNoNode) children[node.dam].push_back(index);
  return index;
}

/// The node that stands for the sire of this siring, made at its first use.
NodeIndex Pedigree::sire_node(const Collection& collection, const std::vector<Animal>& animals, SiringIndex siring) {
  if (sire_of_siring[siring] != kNoNode) return sire_of_siring[siring];
  std::vector<NodeIndex> found;
  for (const PossibleSire& one : collection.sirings[siring].possible) {
    const bool known = one.sire < animals.size();
    if (one.sire != kNobody && !known) {
      problems.push_back({Problem::Kind::unknown_reference, 0, {}, {collection.sirings[siring].record}});
    }
    if (known && animals[one.sire].sex == Sex::female) {
      problems.push_back({Problem::Kind::female_sire, 0, {one.sire}, {collection.sirings[siring].record}});
    }
    const bool usable = known && animals[one.sire].sex != Sex::female && of_animal[one.sire] != kNoNode;
    found.push_back(usable ? of_animal[one.sire] : add_node({.sex = Sex::male}));
  }
  if (found.empty()) found.push_back(add_node({.sex = Sex::male}));
  if (found.size() == 1) return sire_of_siring[siring] = found.front();
  const NodeIndex choice = add_node({.sex = Sex::male, .choice = siring});
  for (NodeIndex one : found) children[one].push_back(choice);
  candidates[siring] = found;
  return sire_of_siring[siring] = choice;
}

void Pedigree::extend(const Collection& collection) {
  const auto first = static_cast<AnimalIndex>(of_animal.size());
  std::vector<Animal> animals = without_rings(collection, first);
  check_sexes(collection, animals, first);
  of_animal.resize(animals.size(), kNoNode);
  candidates.resize(collection.sirings.size());
  sire_of_siring.resize(collection.sirings.size(), kNoNode);
  dam_of_siring.resize(collection.sirings.size(), kNoNode);
  for (AnimalIndex i : parents_first(collection, animals, first)) {
    const Animal& animal = animals[i];
    Node node{.animal = i, .sex = animal.sex};
    if (animal.siring != kNoSiring || animal.dam != kNobody) {
      node.sire =
          animal.siring != kNoSiring ? sire_node(collection, animals, animal.siring) : add_node({.sex = Sex::male});
      if (animal.dam != kNobody) {
        node.dam = of_animal[animal.dam];
      } else {
        NodeIndex& unknown = dam_of_siring[animal.siring];
        if (unknown == kNoNode) unknown = add_node({.sex = Sex::female});
        node.dam = unknown;
      }
    }
    of_animal[i] = add_node(node);
  }
}

bool Pedigree::has_stranger(SiringIndex siring) const {
  return std::any_of(candidates[siring].begin(), candidates[siring].end(),
                     [&](NodeIndex sire) { return nodes[sire].animal == kNobody; });
}

std::vector<AnimalIndex> Pedigree::known_through(NodeIndex node) const {
  std::vector<AnimalIndex> out;
  if (nodes[node].animal != kNobody) {
    out.push_back(nodes[node].animal);
    for (NodeIndex child : children[node]) {
      if (nodes[child].choice == kNoSiring) {
        const NodeIndex other = nodes[child].sire == node ? nodes[child].dam : nodes[child].sire;
        if (nodes[other].animal == kNobody && nodes[other].founder()) out.push_back(nodes[child].animal);
      } else if (has_stranger(nodes[child].choice)) {
        for (NodeIndex young : children[child]) out.push_back(nodes[young].animal);
      }
    }
    return out;
  }
  for (NodeIndex child : children[node]) {
    if (nodes[child].animal != kNobody) out.push_back(nodes[child].animal);
    if (nodes[child].choice == kNoSiring) continue;
    for (NodeIndex young : children[child]) out.push_back(nodes[young].animal);
  }
  return out;
}

}  // namespace rackside::core::genetics
