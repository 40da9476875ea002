#pragma once

#include <vector>

#include "core/genetics/pedigree.h"

namespace rackside::core::genetics {

/// Young of one pair that have no young themselves and share nothing over several loci: given their parents nothing
/// ties them to anybody, so together they are one factor over the two parents, and no variables. Most animals are.
struct Litters {
  static constexpr std::uint32_t kNone = 0xffffffff;
  struct Litter {
    NodeIndex sire = kNoNode;
    NodeIndex dam = kNoNode;
    std::vector<NodeIndex> young;
  };
  std::vector<Litter> all;
  std::vector<std::vector<std::uint32_t>> of_parent;  ///< by node
  std::vector<std::uint32_t> of_young;                ///< by node; kNone where it is in no litter

  /// `alone` tells of a node that it must stay a variable.
  template <typename Alone>
  void find(const Pedigree& pedigree, Alone&& alone);

 private:
  std::uint32_t litter_of(NodeIndex sire, NodeIndex dam);
};

template <typename Alone>
void Litters::find(const Pedigree& pedigree, Alone&& alone) {
  const std::size_t count = pedigree.nodes.size();
  all.clear();
  of_parent.assign(count, {});
  of_young.assign(count, kNone);
  for (NodeIndex node = 0; node < count; ++node) {
    const Pedigree::Node& one = pedigree.nodes[node];
    if (one.sire == kNoNode || one.sire == one.dam || !pedigree.children[node].empty() || alone(node)) continue;
    of_young[node] = litter_of(one.sire, one.dam);
    all[of_young[node]].young.push_back(node);
  }
}

inline std::uint32_t Litters::litter_of(NodeIndex sire, NodeIndex dam) {
  for (std::uint32_t known : of_parent[dam]) {
    if (all[known].sire == sire) return known;
  }
  const auto made = static_cast<std::uint32_t>(all.size());
  all.push_back({sire, dam, {}});
  of_parent[sire].push_back(made);
  of_parent[dam].push_back(made);
  return made;
}

}  // namespace rackside::core::genetics
