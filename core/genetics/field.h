#pragma once

#include <map>
#include <optional>
#include <set>
#include <span>
#include <vector>

#include "core/genetics/evidence.h"
#include "core/genetics/pedigree.h"
#include "core/genetics/states.h"

namespace rackside::core::genetics {

/// The statements about each animal, said-twice ones left out.
struct Said {
  std::vector<const Statement*> all;
  std::vector<std::vector<const Statement*>> of;  ///< by animal
  /// Of one of several loci: not here, but a shared variable's matter.
  static bool either_or(const Statement& statement);
};

/// The loci that a statement's options are at, each once, in order.
std::vector<std::uint16_t> loci_of(const Statement& statement);

/// Promises made of a founder that are of this locus or of another (a name of several genes): what is believed
/// beforehand depends on which. By a set of them, one bit each in their order, that are of this locus: how much more or
/// less likely each state is than by the field's own weights, which are the mean over all sets.
struct Promises {
  std::vector<const Statement*> of;
  std::vector<std::vector<double>> ratio;
};

/// One locus over the whole pedigree: which genotypes each node can still have, and the weights of its own evidence.
/// Sound and quick: what it rules out is impossible given the statements; what it leaves open elimination weighs.
class Field {
 public:
  Field(const Species& species, std::uint16_t locus, const Settings& settings);

  /// Computes all anew. Problems found are added.
  void load(const Pedigree& pedigree, const Said& said, std::vector<Problem>& problems);
  /// Takes in the nodes from `first` on and what was newly said of older ones, `spoken_of`. Returns the nodes that it
  /// touched; nullopt where everything had to be computed anew.
  std::optional<std::vector<NodeIndex>> extend(const Pedigree& pedigree, const Said& said, NodeIndex first,
                                               const std::vector<NodeIndex>& spoken_of, std::vector<Problem>& problems);
  /// The members cannot be together: a founder's hidden carrying may explain it, and all is computed anew; else they
  /// get no answer.
  void explain(const Pedigree& pedigree, const Said& said, const std::vector<NodeIndex>& members,
               std::vector<Problem>& problems);

  const States& states() const { return states_; }
  std::uint16_t locus() const { return locus_; }
  StateMask domain(NodeIndex node) const { return domain_[node]; }
  bool open(NodeIndex node) const { return (domain_[node] & (domain_[node] - 1)) != 0; }
  bool excluded(NodeIndex node) const { return excluded_[node] != 0; }
  /// Of a founder its beliefs beforehand times its evidence, of others its evidence.
  const std::vector<double>& weights(NodeIndex node) const { return pool_[own_[node]].values; }
  /// Of a founder of whom promises are made that may be of this locus; null for all others.
  const Promises* promises(NodeIndex node) const {
    const auto found = promises_.find(node);
    return found == promises_.end() ? nullptr : &found->second;
  }
  /// Nodes of the same number have the same weights.
  std::uint32_t weights_index(NodeIndex node) const { return own_[node]; }
  /// The node and both parents are in order: Mendel's law is applied.
  bool family_counts(const Pedigree& pedigree, NodeIndex node) const;

 private:
  struct Weights {
    std::vector<double> values;
    StateMask mask = 0;
  };
  void begin_pool();
  std::uint32_t keep(std::vector<double> values);
  std::vector<double> believed(NodeIndex node, AnimalIndex self, const std::vector<const Statement*>& known,
                               const std::vector<const Statement*>& own);
  std::uint32_t standard(bool founder, int level) const { return static_cast<std::uint32_t>(founder * 3 + level); }
  void weigh(const Pedigree& pedigree, const Said& said, NodeIndex first, std::vector<Problem>& problems);
  void weigh_one(const Pedigree& pedigree, const Said& said, NodeIndex node, std::vector<Problem>& problems);
  bool is_special(const Pedigree& pedigree, const Said& said, NodeIndex node) const;
  std::vector<double> evidence(const std::vector<const Statement*>& said, bool founder) const;
  void report_exclusion(const Pedigree::Node& node, const std::vector<const Statement*>& said,
                        std::vector<Problem>& problems) const;

  StateMask from_above(const Pedigree& pedigree, NodeIndex node) const;
  StateMask reach(StateMask sires, StateMask dams) const;
  void place(const Pedigree& pedigree, NodeIndex node);
  void touch(const Pedigree& pedigree, NodeIndex node);
  bool revise(const Pedigree& pedigree, NodeIndex node);
  bool narrow(const Pedigree& pedigree, NodeIndex node, StateMask to);
  bool settle(const Pedigree& pedigree);
  bool compute(const Pedigree& pedigree);
  void repair(const Pedigree& pedigree, const Said& said, std::vector<Problem>& problems);
  bool suspect_founders(const Pedigree& pedigree, const Said& said, const std::vector<NodeIndex>& members,
                        std::vector<Problem>& problems);
  void exclude(const Pedigree& pedigree, const Said& said, const std::vector<NodeIndex>& members,
               std::vector<Problem>& problems);
  void exclude_young(const Pedigree& pedigree, NodeIndex first);

  const Species* species_;
  std::uint16_t locus_;
  Settings settings_;
  States states_;
  std::vector<Weights> pool_;
  std::map<NodeIndex, Promises> promises_;
  std::vector<std::uint32_t> own_;
  std::vector<StateMask> domain_;
  std::vector<std::uint8_t> excluded_;
  std::vector<std::uint8_t> hidden_;
  std::vector<NodeIndex> queue_;
  std::vector<std::uint8_t> queued_;
  std::vector<NodeIndex> changed_;
  NodeIndex conflict_ = kNoNode;
};

}  // namespace rackside::core::genetics
