#include <algorithm>
#include <limits>

#include "core/genetics/inference_work.h"

namespace rackside::core::genetics {

std::vector<double> Inference::Work::beforehand(const Siring& siring) {
  std::vector<double> out;
  double all = 0;
  for (const PossibleSire& one : siring.possible) {
    out.push_back(std::max(0.0, one.weight));
    all += out.back();
  }
  for (double& one : out) one = all > 0 ? one / all : 1 / static_cast<double>(out.size());
  return out;
}

void Inference::Work::take_in(const Collection& collection) {
  kept_ = collection;
  for (Statement& one : kept_.statements) {
    if (refers_to_known(*species_, kept_.animals.size(), one)) continue;
    problems_.push_back({Problem::Kind::unknown_reference, 0, {one.animal}, {one.record}});
    one.certainty = Certainty::cannot_tell;
    one.options.clear();
    one.says = Says::nothing_else;
    if (one.animal >= kept_.animals.size()) one.animal = kNobody;
  }
}

/// Statements by animal; what the same author says twice counts once.
void Inference::Work::hear() {
  said_.all.clear();
  said_.of.assign(kept_.animals.size(), {});
  for (const Statement& one : kept_.statements) {
    if (one.animal == kNobody) continue;
    auto& list = said_.of[one.animal];
    if (std::any_of(list.begin(), list.end(), [&](const Statement* other) { return same_statement(*other, one); }))
      continue;
    list.push_back(&one);
    said_.all.push_back(&one);
  }
  for (Statement& one : kept_.statements) {
    if (one.one_name && shows_just_one(one)) one.one_name = false;
  }
}

/// A founder of whom one name of several genes is said hardly ever shows two of them, unless more was said of these.
bool Inference::Work::shows_just_one(const Statement& statement) const {
  if (statement.says != Says::looks || statement.animal == kNobody || !Said::either_or(statement)) return false;
  const Animal& animal = kept_.animals[statement.animal];
  if (animal.dam != kNobody || animal.siring != kNoSiring) return false;
  const auto& list = said_.of[statement.animal];
  const std::vector<std::uint16_t> loci = loci_of(statement);
  return std::none_of(list.begin(), list.end(), [&](const Statement* other) {
    // The same name once more says no more.
    if (Said::either_or(*other) && loci_of(*other) == loci) return false;
    return std::any_of(other->options.begin(), other->options.end(), [&](const Option& option) {
      return std::find(loci.begin(), loci.end(), option.locus) != loci.end();
    });
  });
}

void Inference::Work::share() {
  shared_.clear();
  shared_of_.clear();
  const auto add = [&](Shared one) {
    shared_of_[one.node].push_back(static_cast<SharedIndex>(shared_.size()));
    shared_.push_back(std::move(one));
  };
  std::vector<std::uint16_t> sex_linked;
  for (const Field& field : fields_) {
    if (field.states().sex_matters()) sex_linked.push_back(field.locus());
  }
  for (NodeIndex node = 0; node < pedigree_.nodes.size(); ++node) {
    const Pedigree::Node& one = pedigree_.nodes[node];
    if (one.choice != kNoSiring) {
      Shared made{.kind = Shared::Kind::siring, .node = node};
      made.before = beforehand(kept_.sirings[one.choice]);
      add(std::move(made));
    } else if (one.sex == Sex::unknown && sex_linked.size() > 1) {
      add({.kind = Shared::Kind::sex, .node = node, .before = {0.5, 0.5}, .loci = sex_linked});
    }
  }
  for (const Statement* statement : said_.all) {
    const NodeIndex node = pedigree_.of_animal[statement->animal];
    if (!Said::either_or(*statement) || !is_evidence(*statement, pedigree_.nodes[node].founder())) continue;
    Shared made{.kind = Shared::Kind::look, .node = node, .statement = statement, .loci = loci_of(*statement)};
    std::vector<const Statement*> others = said_.of[statement->animal];
    std::erase(others, statement);
    std::vector<SpokenOf> loci;
    for (std::uint16_t locus : made.loci) {
      const auto hidden = hidden_looks(*species_, locus, others);
      loci.push_back({locus, &fields_[locus].states(), hidden});
    }
    made.either = take_apart(*species_, *statement, loci);
    made.before = made.either.chances;
    add(std::move(made));
  }
  litters_.find(pedigree_, [&](NodeIndex node) { return shared_of_.contains(node); });
}

void Inference::Work::reserve() {
  place_.resize(fields_.size());
  pool_.resize(fields_.size());
  wide_.resize(fields_.size());
  errors_.resize(fields_.size());
  in_draws_.resize(fields_.size());
  for (auto& row : place_) row.resize(pedigree_.nodes.size(), kNoPlace);
  for (auto& row : wide_) row.resize(pedigree_.nodes.size());
}

void Inference::Work::load(const Collection& collection) {
  problems_.clear();
  pedigree_ = {};
  sirings_.clear();
  place_.clear();
  pool_.clear();
  wide_.clear();
  errors_.clear();
  draws_.clear();
  in_draws_.clear();
  held_.clear();
  effort_ = {};
  take_in(collection);
  pedigree_.extend(kept_);
  problems_.insert(problems_.end(), pedigree_.problems.begin(), pedigree_.problems.end());
  hear();
  share();
  reserve();
  for (Field& field : fields_) field.load(pedigree_, said_, problems_);
  component_ = std::make_unique<Component>(pedigree_, fields_, shared_, shared_of_, litters_);
  component_->forget();
  log_likelihood_ = 0;
  for (std::uint16_t locus = 0; locus < fields_.size(); ++locus) solve_locus(locus);
  for (SharedIndex i = 0; i < shared_.size(); ++i) solve_shared(i);
  solve_again();
  log_likelihood_ += certain_part();
}

void Inference::Work::extend(const Collection& collection) {
  const auto first_node = static_cast<NodeIndex>(pedigree_.nodes.size());
  const std::size_t first_statement = kept_.statements.size();
  const std::size_t first_problem = pedigree_.problems.size();
  take_in(collection);
  pedigree_.extend(kept_);
  problems_.insert(problems_.end(), pedigree_.problems.begin() + static_cast<std::ptrdiff_t>(first_problem),
                   pedigree_.problems.end());
  hear();
  share();
  reserve();
  effort_ = {};
  std::vector<NodeIndex> spoken_of;
  for (std::size_t i = first_statement; i < kept_.statements.size(); ++i) {
    const AnimalIndex animal = kept_.statements[i].animal;
    if (animal == kNobody) continue;
    const NodeIndex node = pedigree_.of_animal[animal];
    if (node < first_node) spoken_of.push_back(node);
    // An unknown parent is known through its young.
    const auto [father, mother] = std::pair(pedigree_.nodes[node].sire, pedigree_.nodes[node].dam);
    for (NodeIndex parent : {father, mother}) {
      if (parent >= first_node) continue;
      const Pedigree::Node& other = pedigree_.nodes[parent == father ? mother : father];
      const bool beside_stranger = other.animal == kNobody && other.founder();
      if (pedigree_.nodes[parent].animal == kNobody || beside_stranger) spoken_of.push_back(parent);
      if (pedigree_.nodes[parent].choice == kNoSiring) continue;
      for (NodeIndex sire : pedigree_.candidates[pedigree_.nodes[parent].choice]) {
        const bool known =
            pedigree_.nodes[sire].animal == kNobody || pedigree_.has_stranger(pedigree_.nodes[parent].choice);
        if (known && sire < first_node) spoken_of.push_back(sire);
      }
    }
  }
  std::vector<std::vector<NodeIndex>> seeds(fields_.size());
  for (Field& field : fields_) {
    const auto touched = field.extend(pedigree_, said_, first_node, spoken_of, problems_);
    if (touched) {
      seeds[field.locus()] = *touched;
    } else {
      again_.push_back(field.locus());
    }
  }
  component_->forget();
  reweigh(seeds, first_node, spoken_of);
  for (std::uint16_t locus = 0; locus < fields_.size(); ++locus) {
    const auto solve = [&](NodeIndex node) { solve_node(locus, node); };
    for (NodeIndex node : seeds[locus]) {
      solve(node);
      const Pedigree::Node& one = pedigree_.nodes[node];
      solve(one.sire);
      solve(one.dam);
      for (NodeIndex child : pedigree_.children[node]) {
        solve(child);
        solve(pedigree_.nodes[child].sire);
        solve(pedigree_.nodes[child].dam);
      }
    }
  }
  for (const auto& nodes : seeds) {
    for (NodeIndex node : nodes) {
      solve_shared_of(node);
      for (NodeIndex child : pedigree_.children[node]) solve_shared_of(child);
    }
  }
  held_.clear();
  solve_again();
  log_likelihood_ = std::numeric_limits<double>::quiet_NaN();
}

}  // namespace rackside::core::genetics
