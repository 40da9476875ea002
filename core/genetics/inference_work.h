#pragma once

#include <map>
#include <memory>
#include <optional>
#include <set>
#include <vector>

#include "core/genetics/component.h"
#include "core/genetics/draws.h"
#include "core/genetics/inference.h"
#include "core/genetics/litters.h"
#include "core/genetics/sampling.h"

namespace rackside::core::genetics {

/// What Inference keeps and does: loading in inference_load.cpp, solving in inference_solve.cpp, answers in
/// inference.cpp, those of kept draws in inference_draws.cpp.
class Inference::Work {
 public:
  Work(std::shared_ptr<const Species> species, Settings settings) : species_(std::move(species)), settings_(settings) {
    for (std::size_t i = 0; i < species_->loci.size(); ++i) {
      fields_.emplace_back(*species_, static_cast<std::uint16_t>(i), settings_);
    }
    elimination_.limit_to(settings_.largest_table);
  }
  /// Chances beforehand of a siring's possible sires: all alike where none weighs anything.
  static std::vector<double> beforehand(const Siring& siring);
  void load(const Collection& collection);
  void extend(const Collection& collection);
  std::vector<double> odds(NodeIndex node, std::uint16_t locus) const;
  double error(NodeIndex node, std::uint16_t locus) const;
  std::vector<double> siring(SiringIndex siring) const;
  Joint joint(NodeIndex first, NodeIndex second, std::uint16_t locus,
              const std::map<SharedIndex, std::uint32_t>& fixed);
  /// All of them: exactly, and those that were sampled from the draws.
  std::vector<Case> cases(NodeIndex first, NodeIndex second, std::span<const std::uint16_t> loci);

  std::shared_ptr<const Species> species_;
  Settings settings_;
  Pedigree pedigree_;
  std::vector<Field> fields_;
  std::vector<Problem> problems_;
  double log_likelihood_ = 0;
  Effort effort_;
  std::map<SiringIndex, std::vector<double>> sirings_;
  static constexpr std::uint32_t kNoPlace = 0xffffffff;
  std::vector<std::vector<std::uint32_t>> place_;  ///< of an open node's chances, by locus and node
  std::vector<std::vector<double>> pool_;
  std::vector<std::vector<std::uint8_t>> wide_;
  std::vector<std::vector<float>> errors_;  ///< of sampled chances, by locus and node; a row only where any is sampled

 private:
  static constexpr std::uint32_t kNoDraws = 0xffffffff;
  /// Where a genotype's draws are.
  struct Place {
    std::uint32_t draws = kNoDraws;
    std::uint32_t variable = 0;
  };
  Place place_in_draws(std::uint16_t locus, NodeIndex node) const;
  std::uint32_t draws_of(std::uint16_t locus, NodeIndex node) const;
  bool chances_in(std::uint32_t draws, std::size_t draw, std::uint16_t locus, NodeIndex node,
                  std::vector<double>& out) const;
  std::optional<std::size_t> state_in(std::uint32_t draws, std::size_t draw, std::uint16_t locus, NodeIndex node) const;
  std::vector<Case> exact_cases(NodeIndex first, NodeIndex second, std::span<const std::uint16_t> loci);
  std::vector<Case> drawn_cases(NodeIndex first, NodeIndex second, std::span<const std::uint16_t> loci) const;
  bool is_drawn(std::uint16_t locus, NodeIndex node) const { return draws_of(locus, node) != kNoDraws; }
  bool one_draw(NodeIndex first, NodeIndex second, std::uint16_t locus, std::size_t draw, Joint& out) const;
  Joint drawn_joint(NodeIndex first, NodeIndex second, std::uint16_t locus) const;
  double draws_behind(NodeIndex first, NodeIndex second, std::uint16_t locus) const;
  bool is_reweighed(std::uint16_t locus, NodeIndex node) const;
  struct Shift {
    std::vector<double> chances;  ///< by how much the weights move them; of a new one the chances themselves
    double error = 0;
  };
  Shift shift_of(std::uint16_t locus, NodeIndex node) const;
  void reweigh(const std::vector<std::vector<NodeIndex>>& touched, NodeIndex first,
               const std::vector<NodeIndex>& spoken_of);
  void reweigh_by(std::uint16_t locus, NodeIndex node, NodeIndex first, bool spoken_of,
                  std::set<std::uint32_t>& weighed, std::set<std::uint32_t>& spoilt);
  void take_into_draws(std::uint16_t locus, NodeIndex node, std::set<std::uint32_t>& weighed,
                       std::set<std::uint32_t>& spoilt);
  bool is_held(std::uint16_t locus, NodeIndex node) const;
  void take_in(const Collection& collection);
  void hear();
  bool shows_just_one(const Statement& statement) const;
  void share();
  void solve_locus(std::uint16_t locus);
  void solve_shared(SharedIndex index);
  void solve_shared_of(NodeIndex node);
  void solve_again();
  void solve_from(const Variable& seed);
  void solve_node(std::uint16_t locus, NodeIndex node);
  bool stands_alone(std::uint16_t locus, NodeIndex young) const;
  void settle_alone(std::uint16_t locus, NodeIndex young);
  void read_out(const Elimination& solved, std::vector<double>& out);
  void read_brood(const Elimination& solved, const Component::Brood& brood, std::vector<double>& out);
  void store(std::span<const double> values, const Batches* batches);
  void store_one(const Variable& variable, std::span<const double> chances, double error);
  void keep_draws(std::unique_ptr<Draws> draws);
  std::vector<std::uint32_t> mixed_states() const;
  bool estimate();
  void give_up();
  double certain_part() const;
  void reserve();

  Collection kept_;
  Said said_;
  std::vector<Shared> shared_;
  std::map<NodeIndex, std::vector<SharedIndex>> shared_of_;
  Litters litters_;
  std::vector<std::unique_ptr<Draws>> draws_;
  std::vector<std::vector<Place>> in_draws_;  ///< by locus and node; a row only where any is sampled
  std::set<std::uint32_t> held_;              ///< draws that were weighed anew and so need not be solved again
  std::vector<double> flat_, pair_;
  std::unique_ptr<Component> component_;
  Elimination elimination_;
  std::vector<std::uint16_t> again_;  ///< loci whose domains changed while solving
};

}  // namespace rackside::core::genetics
