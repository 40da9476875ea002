#include "core/genetics/doubt.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <set>

#include "core/genetics/inference.h"
#include "core/genetics/reasons.h"

namespace rackside::core::genetics {
namespace {

constexpr double kInfinite = std::numeric_limits<double>::infinity();
/// Collections up to here are weighed whole; of larger ones the clutch's family and the candidates.
constexpr std::size_t kWhole = 600;
constexpr unsigned kReach = 3;
constexpr std::size_t kMostNear = 300;
/// A clutch whose sire is doubted by less explains nothing.
constexpr double kWorthGrouping = 0.5;

/// Of a doubt among others: what cannot be outweighs all that can.
double weight_of(double odds) {
  return std::min(odds, 1e15);
}

using Young = std::map<SiringIndex, std::vector<AnimalIndex>>;

Young young_of_sirings(const Collection& collection) {
  Young out;
  for (AnimalIndex i = 0; i < collection.animals.size(); ++i) {
    if (collection.animals[i].siring < collection.sirings.size()) out[collection.animals[i].siring].push_back(i);
  }
  return out;
}

bool one_known_sire(const Siring& siring) {
  return siring.possible.size() == 1 && siring.possible.front().sire != kNobody;
}

/// Animals of that sex that are not among the young or their descendants.
std::vector<AnimalIndex> candidates(const Collection& collection, Sex sex, const std::vector<AnimalIndex>& young,
                                    std::size_t most) {
  std::vector<std::vector<AnimalIndex>> children(collection.animals.size());
  for (AnimalIndex i = 0; i < children.size(); ++i) {
    const Animal& animal = collection.animals[i];
    if (animal.dam < children.size()) children[animal.dam].push_back(i);
    if (animal.siring >= collection.sirings.size()) continue;
    for (const PossibleSire& one : collection.sirings[animal.siring].possible) {
      if (one.sire < children.size()) children[one.sire].push_back(i);
    }
  }
  std::vector<bool> below(children.size());
  std::vector<AnimalIndex> queue = young;
  for (AnimalIndex one : young) below[one] = true;
  while (!queue.empty()) {
    const AnimalIndex next = queue.back();
    queue.pop_back();
    for (AnimalIndex child : children[next]) {
      if (!below[child]) queue.push_back(child);
      below[child] = true;
    }
  }
  std::vector<AnimalIndex> out;
  for (AnimalIndex i = 0; i < children.size() && out.size() < most; ++i) {
    if (collection.animals[i].sex == sex && !below[i]) out.push_back(i);
  }
  return out;
}

/// Whether anybody looked at the young, or bred from them: else nothing can speak against their parents.
class Observed {
 public:
  explicit Observed(const Collection& collection) : said_(collection.animals.size()) {
    for (const Statement& one : collection.statements) {
      if (one.animal < said_.size() && one.basis != Basis::parentage) said_[one.animal] = true;
    }
    for (const Animal& animal : collection.animals) {
      if (animal.dam < said_.size()) said_[animal.dam] = true;
      if (animal.siring >= collection.sirings.size()) continue;
      for (const PossibleSire& one : collection.sirings[animal.siring].possible) {
        if (one.sire < said_.size()) said_[one.sire] = true;
      }
    }
  }
  bool any(const std::vector<AnimalIndex>& animals) const {
    return std::any_of(animals.begin(), animals.end(), [&](AnimalIndex one) { return said_[one]; });
  }

 private:
  std::vector<bool> said_;
};

/// Alleles that are said to be somewhere in the collection, and those said of one animal.
using Alleles = std::set<std::pair<std::uint16_t, AlleleIndex>>;
Alleles alleles_said(const Species& species, const Collection& collection, AnimalIndex of = kNobody) {
  Alleles out;
  for (const Statement& one : collection.statements) {
    if (of != kNobody && one.animal != of) continue;
    for (const AlleleRef& ref : mentioned_alleles(species, one)) out.emplace(ref.locus, ref.allele);
  }
  return out;
}

std::set<AnimalIndex> founders_above(const Collection& collection, AnimalIndex animal) {
  std::set<AnimalIndex> seen;
  std::set<AnimalIndex> out;
  std::vector<AnimalIndex> queue{animal};
  const auto visit = [&](AnimalIndex one) {
    if (one < collection.animals.size() && seen.insert(one).second) queue.push_back(one);
  };
  while (!queue.empty()) {
    const AnimalIndex next = queue.back();
    queue.pop_back();
    const Animal& here = collection.animals[next];
    if (here.dam == kNobody && here.siring == kNoSiring) out.insert(next);
    visit(here.dam);
    if (here.siring >= collection.sirings.size()) continue;
    for (const PossibleSire& one : collection.sirings[here.siring].possible) visit(one.sire);
  }
  return out;
}

/// Ancestors without known parents may carry what the young show: with a small chance, not never. Nothing recorded is
/// impossible then that a seller's silence explains.
void allow_hidden(const Species& species, Collection& collection, AnimalIndex young, double chance) {
  const Alleles shown = alleles_said(species, collection);
  for (AnimalIndex founder : founders_above(collection, young)) {
    const Alleles own = alleles_said(species, collection, founder);
    for (const auto& [locus, allele] : shown) {
      const bool said = std::any_of(own.begin(), own.end(), [at = locus](const auto& one) { return one.first == at; });
      if (said) continue;
      collection.statements.push_back({.animal = founder,
                                       .basis = Basis::bought,
                                       .says = Says::possible,
                                       .chance = chance,
                                       .options = {{.locus = locus, .a = allele}}});
    }
  }
}

/// What one clutch is weighed in.
struct Scene {
  Family family;
  std::vector<AnimalIndex> young;  ///< in the family
  AnimalIndex in_family(AnimalIndex original) const {
    const auto at = std::lower_bound(family.original.begin(), family.original.end(), original);
    return at != family.original.end() && *at == original ? static_cast<AnimalIndex>(at - family.original.begin())
                                                          : kNobody;
  }
};

Scene scene_of(const Collection& collection, const std::vector<AnimalIndex>& young,
               const std::vector<AnimalIndex>& others) {
  std::vector<AnimalIndex> members;
  if (collection.animals.size() <= kWhole) {
    for (AnimalIndex i = 0; i < collection.animals.size(); ++i) members.push_back(i);
  } else {
    members = near_ones(collection, young.front(), kReach, kMostNear);
    members.insert(members.end(), young.begin(), young.end());
    members.insert(members.end(), others.begin(), others.end());
  }
  Scene out{.family = part_of(collection, std::move(members), young.front())};
  for (AnimalIndex one : young) out.young.push_back(out.in_family(one));
  return out;
}

/// The recorded sire, all others and one unknown male, with what is believed of them beforehand.
Siring mixture(const Scene& scene, AnimalIndex recorded, const std::vector<AnimalIndex>& others, double wrong) {
  Siring out;
  out.possible.push_back({recorded, 1 - wrong});
  std::vector<AnimalIndex> known;
  for (AnimalIndex one : others) {
    const AnimalIndex placed = scene.in_family(one);
    if (placed != recorded && placed != kNobody) known.push_back(placed);
  }
  const double each = wrong / static_cast<double>(known.size() + 1);
  for (AnimalIndex one : known) out.possible.push_back({one, each});
  out.possible.push_back({kNobody, each});
  return out;
}

std::optional<Doubt> doubt_of_sire(const std::shared_ptr<const Species>& species, const Collection& collection,
                                   SiringIndex index, const std::vector<AnimalIndex>& young,
                                   const DoubtSettings& settings) {
  const Siring& recorded = collection.sirings[index];
  const auto others = candidates(collection, Sex::male, young, settings.most_candidates);
  Scene scene = scene_of(collection, young, others);
  Collection& part = scene.family.collection;
  const SiringIndex here = part.animals[scene.young.front()].siring;
  const AnimalIndex sire = part.sirings[here].possible.front().sire;
  if (sire == kNobody) return std::nullopt;
  allow_hidden(*species, part, scene.young.front(), settings.hidden_carrier);
  part.sirings[here] = mixture(scene, sire, others, settings.wrong_sire);
  Inference inference(species, settings.inference);
  inference.load(part);
  const std::vector<double> after = inference.siring(here);
  if (after.empty()) return std::nullopt;
  const double right = after.front();
  Doubt out{.odds = right > 0 ? (1 - right) / right : kInfinite, .young = young};
  if (out.odds < kWorthGrouping) return std::nullopt;
  const auto likeliest = std::max_element(after.begin() + 1, after.end());
  const AnimalIndex instead = part.sirings[here].possible[static_cast<std::size_t>(likeliest - after.begin())].sire;
  out.suspects.push_back({.kind = Suspect::Kind::sire,
                          .record = recorded.record,
                          .about = young.front(),
                          .recorded = recorded.possible.front().sire,
                          .instead = instead == kNobody ? kNobody : scene.family.original[instead],
                          .share = 1});
  return out;
}

/// Clutches of which one can explain the other's young: they share a parent, or one's young is the other's parent.
bool may_explain_each_other(const Collection& collection, const Doubt& a, const Doubt& b) {
  const auto near = [&](const Doubt& doubt) {
    const Animal& young = collection.animals[doubt.young.front()];
    std::set<AnimalIndex> out(doubt.young.begin(), doubt.young.end());
    out.insert(young.dam);
    out.insert(doubt.suspects.front().recorded);
    out.erase(kNobody);
    return out;
  };
  const auto mine = near(a);
  const auto theirs = near(b);
  return std::any_of(mine.begin(), mine.end(), [&](AnimalIndex one) { return theirs.contains(one); });
}

/// One wrong record upsets its relatives' clutches too: told once, with all suspects. That exactly one is wrong makes
/// the odds add up.
std::vector<Doubt> grouped(const Collection& collection, std::vector<Doubt> doubts) {
  std::vector<Doubt> out;
  for (Doubt& doubt : doubts) {
    std::vector<Doubt> apart;
    for (Doubt& other : out) {
      if (!may_explain_each_other(collection, doubt, other)) {
        apart.push_back(std::move(other));
        continue;
      }
      doubt.young.insert(doubt.young.end(), other.young.begin(), other.young.end());
      for (Suspect& suspect : doubt.suspects) suspect.share *= weight_of(doubt.odds);
      for (Suspect& suspect : other.suspects) {
        suspect.share *= weight_of(other.odds);
        doubt.suspects.push_back(suspect);
      }
      doubt.odds += other.odds;
      double all = 0;
      for (const Suspect& suspect : doubt.suspects) all += suspect.share;
      for (Suspect& suspect : doubt.suspects) suspect.share /= all;
    }
    apart.push_back(std::move(doubt));
    out = std::move(apart);
  }
  for (Doubt& doubt : out)
    std::stable_sort(doubt.suspects.begin(), doubt.suspects.end(),
                     [](const Suspect& a, const Suspect& b) { return a.share > b.share; });
  return out;
}

// ---- what cannot be

double log_likelihood(const std::shared_ptr<const Species>& species, const Collection& collection,
                      const DoubtSettings& settings) {
  Inference inference(species, settings.inference);
  inference.load(collection);
  for (const Problem& problem : inference.problems()) {
    if (problem.kind == Problem::Kind::excluding_statements || problem.kind == Problem::Kind::impossible_family)
      return -kInfinite;
  }
  const double out = inference.log_likelihood();
  return std::isnan(out) ? -kInfinite : out;
}

bool tells_of_contradiction(const Problem& problem) {
  return problem.kind == Problem::Kind::excluding_statements || problem.kind == Problem::Kind::impossible_family ||
         problem.kind == Problem::Kind::hidden_carrier;
}

/// What a suspect explains: its own chance times how well all fits without it, as a logarithm.
struct Weighed {
  Suspect suspect;
  double log_weight = -kInfinite;
};

double log_mean(const std::vector<double>& logs) {
  const double most = logs.empty() ? -kInfinite : *std::max_element(logs.begin(), logs.end());
  if (most == -kInfinite) return -kInfinite;
  double sum = 0;
  for (double one : logs) sum += std::exp(one - most);
  return most + std::log(sum / static_cast<double>(logs.size()));
}

class Contradiction {
 public:
  Contradiction(const std::shared_ptr<const Species>& species, const Collection& collection,
                const DoubtSettings& settings, const std::vector<AnimalIndex>& animals)
      : species_(species),
        settings_(settings),
        males_(candidates(collection, Sex::male, animals, settings.most_candidates)),
        females_(candidates(collection, Sex::female, animals, settings.most_candidates)),
        scene_(scene_of(collection, animals, males_)),
        part_(scene_.family.collection) {}

  std::vector<Weighed> weigh(const std::vector<AnimalIndex>& animals) {
    std::vector<Weighed> out;
    std::set<SiringIndex> sirings;
    for (AnimalIndex original : animals) {
      const AnimalIndex at = scene_.in_family(original);
      if (at == kNobody) continue;
      weigh_statements(at, out);
      weigh_dam(at, out);
      const SiringIndex siring = part_.animals[at].siring;
      if (siring != kNoSiring && sirings.insert(siring).second) weigh_sire(at, siring, out);
    }
    return out;
  }
  double as_recorded() { return log_likelihood(species_, part_, settings_); }

 private:
  void weigh_statements(AnimalIndex at, std::vector<Weighed>& out) {
    std::set<RecordId> records;
    for (const Statement& one : part_.statements) {
      if (one.animal == at && one.record != 0 && is_evidence(one, true)) records.insert(one.record);
    }
    for (RecordId record : records) {
      Collection changed = part_;
      std::erase_if(changed.statements, [&](const Statement& one) { return one.record == record; });
      out.push_back({{.kind = Suspect::Kind::statement, .record = record, .about = scene_.family.original[at]},
                     std::log(settings_.wrong_look / 2) + log_likelihood(species_, changed, settings_)});
    }
  }

  void weigh_dam(AnimalIndex at, std::vector<Weighed>& out) {
    const AnimalIndex dam = part_.animals[at].dam;
    if (dam == kNobody) return;
    std::vector<double> logs;
    double best = -kInfinite;
    AnimalIndex instead = kNobody;
    const auto consider = [&](AnimalIndex other) {
      Collection changed = part_;
      for (Animal& animal : changed.animals) {
        // Clutch mates came out of the same eggs.
        if (animal.dam == dam && animal.siring == part_.animals[at].siring) animal.dam = other;
      }
      logs.push_back(log_likelihood(species_, changed, settings_));
      if (logs.back() > best) {
        best = logs.back();
        instead = other == kNobody ? kNobody : scene_.family.original[other];
      }
    };
    consider(kNobody);
    for (AnimalIndex one : females_) {
      const AnimalIndex placed = scene_.in_family(one);
      if (placed != kNobody && placed != dam) consider(placed);
    }
    out.push_back({{.kind = Suspect::Kind::dam,
                    .record = part_.animals[at].dam_record,
                    .about = scene_.family.original[at],
                    .recorded = scene_.family.original[dam],
                    .instead = instead},
                   std::log(settings_.wrong_dam) + log_mean(logs)});
  }

  void weigh_sire(AnimalIndex at, SiringIndex siring, std::vector<Weighed>& out) {
    if (!one_known_sire(part_.sirings[siring])) return;
    const AnimalIndex recorded = part_.sirings[siring].possible.front().sire;
    Collection changed = part_;
    Siring all = mixture(scene_, recorded, males_, 1);
    all.possible.erase(all.possible.begin());
    changed.sirings[siring].possible = all.possible;
    Inference inference(species_, settings_.inference);
    inference.load(changed);
    const double log = log_likelihood(species_, changed, settings_);
    const std::vector<double> after = inference.siring(siring);
    AnimalIndex instead = kNobody;
    if (!after.empty()) {
      const auto most = std::max_element(after.begin(), after.end()) - after.begin();
      const AnimalIndex one = all.possible[static_cast<std::size_t>(most)].sire;
      if (one != kNobody) instead = scene_.family.original[one];
    }
    out.push_back({{.kind = Suspect::Kind::sire,
                    .record = part_.sirings[siring].record,
                    .about = scene_.family.original[at],
                    .recorded = scene_.family.original[recorded],
                    .instead = instead},
                   std::log(settings_.wrong_sire) + log});
  }

  const std::shared_ptr<const Species>& species_;
  const DoubtSettings& settings_;
  std::vector<AnimalIndex> males_, females_;
  Scene scene_;
  Collection& part_;
};

Doubt doubt_of(std::vector<Weighed> weighed, double as_recorded, std::vector<AnimalIndex> animals) {
  Doubt out{.young = std::move(animals)};
  double most = as_recorded;
  for (const Weighed& one : weighed) most = std::max(most, one.log_weight);
  if (most == -kInfinite) {
    // Nothing alone explains it: more than one record is wrong.
    out.odds = kInfinite;
    return out;
  }
  double sum = 0;
  for (const Weighed& one : weighed) sum += std::exp(one.log_weight - most);
  const double right = std::exp(as_recorded - most);
  out.odds = right > 0 ? sum / right : kInfinite;
  for (Weighed& one : weighed) {
    one.suspect.share = sum > 0 ? std::exp(one.log_weight - most) / sum : 0;
    if (one.suspect.share >= 0.01) out.suspects.push_back(one.suspect);
  }
  std::stable_sort(out.suspects.begin(), out.suspects.end(),
                   [](const Suspect& a, const Suspect& b) { return a.share > b.share; });
  return out;
}

/// Problems that share an animal are one contradiction.
std::vector<std::vector<AnimalIndex>> contradictions(const Inference& inference) {
  std::vector<std::set<AnimalIndex>> sets;
  for (const Problem& problem : inference.problems()) {
    if (!tells_of_contradiction(problem) || problem.animals.empty()) continue;
    std::set<AnimalIndex> mine(problem.animals.begin(), problem.animals.end());
    for (auto one = sets.begin(); one != sets.end();) {
      const bool touches = std::any_of(one->begin(), one->end(), [&](AnimalIndex a) { return mine.contains(a); });
      if (!touches) {
        ++one;
        continue;
      }
      mine.insert(one->begin(), one->end());
      one = sets.erase(one);
    }
    sets.push_back(std::move(mine));
  }
  std::vector<std::vector<AnimalIndex>> out;
  for (const auto& one : sets) out.emplace_back(one.begin(), one.end());
  return out;
}

}  // namespace

std::vector<Doubt> doubts(const std::shared_ptr<const Species>& species, const Collection& collection,
                          const DoubtSettings& settings) {
  std::vector<Doubt> out;
  std::set<RecordId> explained;
  Inference inference(species, settings.inference);
  inference.load(collection);
  for (const std::vector<AnimalIndex>& animals : contradictions(inference)) {
    Contradiction one(species, collection, settings, animals);
    auto weighed = one.weigh(animals);
    Doubt doubt = doubt_of(std::move(weighed), one.as_recorded(), animals);
    if (doubt.odds < settings.told_at) continue;
    for (const Suspect& suspect : doubt.suspects) explained.insert(suspect.record);
    out.push_back(std::move(doubt));
  }
  const Observed observed(collection);
  std::vector<Doubt> of_sires;
  for (const auto& [siring, young] : young_of_sirings(collection)) {
    const Siring& recorded = collection.sirings[siring];
    if (!one_known_sire(recorded) || !observed.any(young)) continue;
    if (recorded.record != 0 && explained.contains(recorded.record)) continue;
    if (auto doubt = doubt_of_sire(species, collection, siring, young, settings)) of_sires.push_back(std::move(*doubt));
  }
  for (Doubt& doubt : grouped(collection, std::move(of_sires))) {
    if (doubt.odds >= settings.told_at) out.push_back(std::move(doubt));
  }
  std::stable_sort(out.begin(), out.end(), [](const Doubt& a, const Doubt& b) { return a.odds > b.odds; });
  return out;
}

}  // namespace rackside::core::genetics
