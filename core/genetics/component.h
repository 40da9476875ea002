#pragma once

#include <map>
#include <set>
#include <utility>
#include <vector>

#include "core/genetics/either_or.h"
#include "core/genetics/elimination.h"
#include "core/genetics/field.h"
#include "core/genetics/litters.h"
#include "core/genetics/pedigree.h"

namespace rackside::core::genetics {

/// A variable that is the same at all loci: which sire, which sex, which of several genes a statement is of.
struct Shared {
  enum class Kind : std::uint8_t { siring, sex, look };  // a look: what is said of one of several loci
  Kind kind = Kind::siring;
  NodeIndex node = kNoNode;              ///< of the choice or the animal
  std::vector<double> before;            ///< chances of its values
  const Statement* statement = nullptr;  ///< of a look
  std::vector<std::uint16_t> loci;       ///< of a look: those it may be of, as in `either`; of a sex: sex-linked ones
  EitherOr either;                       ///< of a look: its values are these cases
};
using SharedIndex = std::uint32_t;

/// A genotype or a shared variable of a component.
struct Variable {
  static constexpr std::uint16_t kShared = 0xffff;
  std::uint16_t locus = kShared;
  std::uint32_t index = 0;  ///< node, or shared variable
};

/// What is connected, and its network. Gathered from seeds by walking from uncertain genotype to uncertain genotype;
/// what is certain cuts.
class Component {
 public:
  Component(const Pedigree& pedigree, std::vector<Field>& fields, const std::vector<Shared>& shared,
            const std::map<NodeIndex, std::vector<SharedIndex>>& shared_of, const Litters& litters);

  /// Forgets which variables were seen: begins a new sweep over all.
  void forget();
  bool seen(std::uint16_t locus, NodeIndex node) const;
  bool seen(SharedIndex index) const { return seen_shared_[index] == sweep_; }
  /// The component of the seeds (of several, where they do not touch). Values of shared variables in `fixed` are given.
  void gather(const std::vector<Variable>& seeds, const std::map<SharedIndex, std::uint32_t>& fixed = {});

  /// Young of a litter that became no variables: alike at the locus, so of the same chances.
  struct Alike {
    NodeIndex first = kNoNode;
    std::uint32_t weights = 0;  ///< of the field
    StateMask domain = 0;
    std::uint32_t count = 0;
  };
  struct Brood {
    std::uint16_t locus = 0;
    std::uint32_t litter = 0;
  };
  /// How likely what was said of such a young is, by its parents' states.
  static double likelihood(const Field& field, const Alike& young, std::size_t sire, std::size_t dam);
  /// Those of a litter that are no variables, in the order of their first.
  const std::vector<Alike>& alike(std::uint16_t locus, std::uint32_t litter);
  /// Whether it is among those: not asked for by itself, and not left out.
  bool in_brood(std::uint16_t locus, NodeIndex young) const;

  const std::vector<Variable>& variables() const { return variables_; }
  const std::vector<Brood>& broods() const { return broods_; }
  const Network& network() const { return network_; }
  std::uint32_t local(std::uint16_t locus, NodeIndex node) const { return local_[locus][node]; }
  std::vector<SharedIndex> shared_variables() const;

 private:
  std::uint32_t visit(std::uint16_t locus, NodeIndex node);
  std::uint32_t visit_shared(SharedIndex index);
  void expand(const Variable& variable);
  void expand_shared(SharedIndex index);
  void emit_family(std::uint16_t locus, NodeIndex node);
  void emit_own(std::uint16_t locus, NodeIndex node);
  void emit_litter(std::uint16_t locus, std::uint32_t litter);
  void emit_choice(std::uint16_t locus, NodeIndex node);
  void emit_candidate(std::uint16_t locus, NodeIndex node, std::uint32_t place);
  void emit_sex(std::uint16_t locus, SharedIndex index);
  void emit_look(SharedIndex index, std::size_t place);
  void emit_promises(std::uint16_t locus, NodeIndex node);
  bool choice_matters(std::uint16_t locus, NodeIndex node) const;
  bool sex_ties(const Shared& shared) const;
  bool tells_sex(std::uint16_t locus, NodeIndex node) const;
  std::uint32_t slot(std::uint16_t locus, NodeIndex node);
  bool once(std::vector<std::uint32_t>& stamps, std::size_t at);

  const Pedigree& pedigree_;
  std::vector<Field>& fields_;
  const std::vector<Shared>& shared_;
  const std::map<NodeIndex, std::vector<SharedIndex>>& shared_of_;
  const Litters& litters_;
  std::map<SharedIndex, std::uint32_t> fixed_;
  std::vector<Variable> variables_;
  std::vector<Brood> broods_;
  std::vector<Alike> alike_;
  std::vector<double> logs_;
  Network network_;
  std::set<std::pair<std::uint16_t, NodeIndex>> promised_;  ///< whose promises are in the network
  std::uint32_t sweep_ = 0;
  std::vector<std::vector<std::uint32_t>> seen_, local_, emitted_;  ///< by locus and node
  std::vector<std::vector<std::uint32_t>> emitted_litter_;          ///< by locus and litter
  std::vector<NodeIndex> single_;                                   ///< asked for by themselves
  std::vector<std::uint32_t> seen_shared_, local_shared_;
};

}  // namespace rackside::core::genetics
