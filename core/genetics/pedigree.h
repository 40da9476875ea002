#pragma once

#include <vector>

#include "core/genetics/collection.h"

namespace rackside::core::genetics {

using NodeIndex = std::uint32_t;
constexpr NodeIndex kNoNode = 0xffffffff;

/// A pedigree in which everybody has two parents or none. Where one parent is unknown an unknown animal stands in,
/// shared by those of one siring; where there are several possible sires a node stands for whichever of them it was.
struct Pedigree {
  struct Node {
    AnimalIndex animal = kNobody;  ///< kNobody: a stand-in
    Sex sex = Sex::unknown;
    NodeIndex sire = kNoNode;
    NodeIndex dam = kNoNode;
    SiringIndex choice = kNoSiring;  ///< set: the genotype of the true one of several possible sires
    bool founder() const { return sire == kNoNode && choice == kNoSiring; }
  };
  std::vector<Node> nodes;  ///< parents first
  std::vector<NodeIndex> of_animal;
  std::vector<std::vector<NodeIndex>> children;    ///< also the choices that a sire is part of
  std::vector<std::vector<NodeIndex>> candidates;  ///< by siring, in the order of `possible`; empty for a single one
  std::vector<NodeIndex> sire_of_siring;           ///< the sire's node or the choice's; kNoNode before it is used
  std::vector<NodeIndex> dam_of_siring;            ///< stand-in for an unknown dam
  std::vector<Problem> problems;

  /// Adds the animals and sirings that are not in yet. New animals may descend from old and new ones.
  void extend(const Collection& collection);
  /// Whether an unknown male is among its possible sires.
  bool has_stranger(SiringIndex siring) const;
  /// An animal's own statements and, for a stand-in, those of its young count as about it. Of one that has young with a
  /// stranger, or may be the sire where a stranger may be, those of the young count too: what they show must not speak
  /// for the stranger alone.
  std::vector<AnimalIndex> known_through(NodeIndex node) const;

 private:
  NodeIndex add_node(const Node& node);
  NodeIndex sire_node(const Collection& collection, const std::vector<Animal>& animals, SiringIndex siring);
  std::vector<Animal> without_rings(const Collection& collection, AnimalIndex first);
  void check_sexes(const Collection& collection, std::vector<Animal>& animals, AnimalIndex first);
};

}  // namespace rackside::core::genetics
