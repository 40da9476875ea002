#include "tests/support/genetics_enumerator.h"

#include <algorithm>
#include <deque>

#include "core/genetics/field.h"
#include "core/genetics/states.h"

namespace rackside::tests {
namespace {

using namespace core::genetics;

constexpr int kAbsent = -1;  ///< no allele: what a hemizygous animal has on its Y or W

struct Pairing {
  int from_sire = 0;
  int from_dam = 0;
};

/// What is the same at all loci.
struct World {
  std::vector<Sex> sexes;
  std::vector<std::size_t> sirings;
  std::vector<std::vector<std::uint16_t>> of;  ///< of which loci each either-or statement is
};

bool either_or(const Statement& one) {
  return one.says != Says::unseen && one.certainty != Certainty::cannot_tell &&
         std::any_of(one.options.begin(), one.options.end(),
                     [&](const Option& option) { return option.locus != one.options.front().locus; });
}

class Enumerator {
 public:
  Enumerator(const Species& species, const Collection& collection, const Settings& settings)
      : species_(species), collection_(collection), settings_(settings) {
    for (std::uint16_t i = 0; i < species.loci.size(); ++i) states_.emplace_back(species.loci[i], species.sexes);
    for (const Statement& one : collection.statements) {
      if (either_or(one)) either_or_.push_back(&one);
      auto& by_locus = words_.emplace_back();
      for (std::uint16_t i = 0; i < species.loci.size(); ++i) by_locus.push_back(words_of(one, i));
    }
  }

  Enumerated run() {
    out_.odds.assign(collection_.animals.size(), {});
    for (auto& animal : out_.odds) {
      for (const States& states : states_) animal.emplace_back(states.size());
    }
    for (const Siring& one : collection_.sirings) out_.sirings.emplace_back(one.possible.size());
    World world;
    for (const Animal& one : collection_.animals) world.sexes.push_back(one.sex);
    worlds(world, 1);
    for (auto& animal : out_.odds) {
      for (auto& locus : animal) {
        for (double& one : locus) one /= out_.sum;
      }
    }
    for (auto& siring : out_.sirings) {
      for (double& one : siring) one /= out_.sum;
    }
    return out_;
  }

 private:
  /// Every way in which unsexed animals have a sex, sirings a sire, and shared looks a gene.
  void worlds(World& world, double chance) {
    const auto unsexed = std::find(world.sexes.begin(), world.sexes.end(), Sex::unknown);
    if (unsexed != world.sexes.end()) {
      const auto at = unsexed - world.sexes.begin();
      for (Sex sex : {Sex::male, Sex::female}) {
        world.sexes[at] = sex;
        worlds(world, chance / 2);
      }
      world.sexes[at] = Sex::unknown;
    } else if (world.sirings.size() < collection_.sirings.size()) {
      const Siring& siring = collection_.sirings[world.sirings.size()];
      for (std::size_t i = 0; i < siring.possible.size(); ++i) {
        world.sirings.push_back(i);
        worlds(world, chance * siring.possible[i].weight);
        world.sirings.pop_back();
      }
    } else if (world.of.size() < either_or_.size()) {
      const Statement& statement = *either_or_[world.of.size()];
      if (statement.says == Says::looks) {
        of_looks(world, chance, statement);
      } else {
        const std::vector<std::uint16_t> loci = loci_of(statement);
        for (std::uint16_t locus : loci) with_one_of(world, chance / static_cast<double>(loci.size()), {locus});
      }
    } else {
      all_loci(world, chance);
    }
  }

  void with_one_of(World& world, double chance, std::vector<std::uint16_t> loci) {
    world.of.push_back(std::move(loci));
    worlds(world, chance);
    world.of.pop_back();
  }

  /// The observer is right as far as his word is more likely of what shows than of what does not; for the rest he
  /// erred, and what he said is of no locus. Of one name that at least one shows, by inclusion and exclusion: every set
  /// of them with changing sign, each as likely as the last of the set.
  void of_looks(World& world, double chance, const Statement& statement) {
    const std::vector<std::uint16_t> loci = loci_of(statement);
    double erred = 0;
    for (std::uint16_t locus : loci) erred += words(statement, locus).least / static_cast<double>(loci.size());
    with_one_of(world, chance * erred, {});
    for (std::size_t set = 1; set < std::size_t{1} << loci.size(); ++set) {
      std::vector<std::uint16_t> of;
      for (std::size_t i = 0; i < loci.size(); ++i) {
        if (set >> i & 1) of.push_back(loci[i]);
      }
      if (!is_inclusive(statement) && of.size() > 1) continue;
      const Words& last = words(statement, of.back());
      with_one_of(world, (of.size() % 2 == 1 ? chance : -chance) * (last.most - last.least), of);
    }
  }

  static std::vector<Option> options_at(const Statement& statement, std::uint16_t locus) {
    std::vector<Option> out;
    for (const Option& option : statement.options) {
      if (option.locus == locus) out.push_back(option);
    }
    return out;
  }

  /// What a statement says of each state of a locus, computed once.
  struct Words {
    std::vector<double> says;    ///< its options there; of a locus that it does not name, that it looks normal there
    std::vector<double> shows;   ///< the same from 0, of the state that the words fit least, to 1
    std::vector<double> normal;  ///< the same of its looking normal there
    double least = 0;
    double most = 0;
  };

  static std::vector<double> from_0_to_1(std::vector<double> says) {
    const auto [low, high] = std::minmax_element(says.begin(), says.end());
    const double least = *low;
    const double most = *high;
    for (double& one : says) one = most > least ? (one - least) / (most - least) : most > 0;
    return says;
  }

  Words words_of(const Statement& statement, std::uint16_t locus) const {
    Words out;
    out.says = likelihood(species_, locus, states_[locus], statement, options_at(statement, locus));
    out.shows = from_0_to_1(out.says);
    out.normal = from_0_to_1(likelihood(species_, locus, states_[locus], statement, {}));
    out.least = *std::min_element(out.says.begin(), out.says.end());
    out.most = *std::max_element(out.says.begin(), out.says.end());
    return out;
  }

  const Words& words(const Statement& statement, std::uint16_t locus) const {
    return words_[static_cast<std::size_t>(&statement - collection_.statements.data())][locus];
  }

  void all_loci(const World& world, double chance) {
    std::vector<double> sums(states_.size());
    std::vector<std::vector<std::vector<double>>> parts(states_.size());
    for (std::uint16_t locus = 0; locus < states_.size(); ++locus) {
      founders_.assign(collection_.animals.size(), {});
      parts[locus].assign(collection_.animals.size(), std::vector<double>(states_[locus].size()));
      std::vector<Pairing> made;
      sums[locus] = genotypes(world, locus, made, 1, parts[locus]);
    }
    double all = chance;
    for (double one : sums) all *= one;
    out_.sum += all;
    for (std::size_t i = 0; i < world.sirings.size(); ++i) out_.sirings[i][world.sirings[i]] += all;
    for (std::size_t locus = 0; locus < states_.size(); ++locus) {
      double others = chance;
      for (std::size_t i = 0; i < sums.size(); ++i) others *= i == locus ? 1 : sums[i];
      for (std::size_t animal = 0; animal < parts[locus].size(); ++animal) {
        for (std::size_t g = 0; g < parts[locus][animal].size(); ++g) {
          out_.odds[animal][locus][g] += others * parts[locus][animal][g];
        }
      }
    }
  }

  /// Adds up the assignments of all animals from the one numbered made.size() on; parents come before their young.
  double genotypes(const World& world, std::uint16_t locus, std::vector<Pairing>& made, double chance,
                   std::vector<std::vector<double>>& parts) {
    if (made.size() == collection_.animals.size()) {
      for (std::size_t i = 0; i < made.size(); ++i) parts[i][state_of(world, locus, i, made[i])] += chance;
      return chance;
    }
    const auto k = static_cast<int>(species_.loci[locus].alleles.size());
    double sum = 0;
    for (int p = kAbsent; p < k; ++p) {
      for (int m = kAbsent; m < k; ++m) {
        const Pairing pairing{p, m};
        if (!has_form(world.sexes[made.size()], locus, pairing) || !viable(locus, pairing)) continue;
        const double here = beforehand(world, locus, made, pairing) * said(world, locus, made.size(), pairing);
        if (here == 0) continue;
        made.push_back(pairing);
        sum += genotypes(world, locus, made, chance * here, parts);
        made.pop_back();
      }
    }
    return sum;
  }

  bool unlike(Sex sex) const { return (sex == Sex::male) == (species_.sexes == SexSystem::xy); }

  /// Only a hemizygous animal of the unlike sex lacks an allele: a male with a Y that of his sire, a female with a W
  /// that of her dam.
  bool has_form(Sex sex, std::uint16_t locus, const Pairing& pairing) const {
    const bool lacks = species_.loci[locus].linkage == Linkage::hemizygous && unlike(sex);
    const bool lacks_sires = lacks && sex == Sex::male;
    const bool lacks_dams = lacks && sex == Sex::female;
    return (pairing.from_sire == kAbsent) == lacks_sires && (pairing.from_dam == kAbsent) == lacks_dams;
  }

  static Pairing as_pair(const Pairing& one) {
    if (one.from_sire == kAbsent) return {one.from_dam, one.from_dam};
    if (one.from_dam == kAbsent) return {one.from_sire, one.from_sire};
    return one;
  }

  bool viable(std::uint16_t locus, const Pairing& pairing) const {
    const Pairing two = as_pair(pairing);
    return species_.loci[locus]
        .pair(static_cast<AlleleIndex>(two.from_sire), static_cast<AlleleIndex>(two.from_dam))
        .viable;
  }

  std::size_t state_of(const World& world, std::uint16_t locus, std::size_t animal, const Pairing& pairing) const {
    const States& states = states_[locus];
    const Sex sex = world.sexes[animal];
    const bool ordered = species_.loci[locus].linkage == Linkage::sex_linked && unlike(sex);
    for (std::size_t i = 0; i < states.size(); ++i) {
      if (states[i].sex != Sex::unknown && states[i].sex != sex) continue;
      if (states[i].single) {
        if (states[i].a == as_pair(pairing).from_sire) return i;
        continue;
      }
      // On the X is what a male has from his dam, on the Z what a female has from her sire.
      const int on_like = sex == Sex::male ? pairing.from_dam : pairing.from_sire;
      const int on_unlike = sex == Sex::male ? pairing.from_sire : pairing.from_dam;
      if (states[i].a == on_like && states[i].b == on_unlike) return i;
      if (!ordered && states[i].a == on_unlike && states[i].b == on_like) return i;
    }
    return 0;
  }

  /// A parent's chance of giving this allele to young of that sex.
  double gives(std::uint16_t locus, const Pairing& parent, Sex own, Sex young, int allele) const {
    const Locus& where = species_.loci[locus];
    if (where.linkage == Linkage::autosomal || !unlike(own)) {
      return ((parent.from_sire == allele) + (parent.from_dam == allele)) / 2.0;
    }
    const bool to_unlike = unlike(young);
    const int on_like = own == Sex::male ? parent.from_dam : parent.from_sire;
    const int on_unlike = own == Sex::male ? parent.from_sire : parent.from_dam;
    if (where.linkage == Linkage::hemizygous) return allele == (to_unlike ? on_unlike : on_like);
    const int stays = to_unlike ? on_unlike : on_like;
    const int crosses = to_unlike ? on_like : on_unlike;
    return (1 - where.recombination) * (stays == allele) + where.recombination * (crosses == allele);
  }

  double born(std::uint16_t locus, const Pairing& sire, const Pairing& dam, Sex sex, const Pairing& young) const {
    return gives(locus, sire, Sex::male, sex, young.from_sire) * gives(locus, dam, Sex::female, sex, young.from_dam) /
           2;
  }

  /// How many of the young of these parents live.
  double alive(std::uint16_t locus, const Pairing& sire, const Pairing& dam) {
    const auto k = static_cast<int>(species_.loci[locus].alleles.size());
    const auto number = [&](const Pairing& one) { return (one.from_sire + 1) * (k + 1) + one.from_dam + 1; };
    const auto forms = static_cast<std::size_t>((k + 1) * (k + 1));
    alive_.resize(states_.size());
    alive_[locus].resize(forms * forms, -1);
    double& all = alive_[locus][static_cast<std::size_t>(number(sire)) * forms + static_cast<std::size_t>(number(dam))];
    if (all >= 0) return all;
    all = 0;
    for (Sex any : {Sex::male, Sex::female}) {
      for (int p = kAbsent; p < k; ++p) {
        for (int m = kAbsent; m < k; ++m) {
          if (has_form(any, locus, {p, m}) && viable(locus, {p, m})) all += born(locus, sire, dam, any, {p, m});
        }
      }
    }
    return all;
  }

  /// Of those that live.
  double born_alive(std::uint16_t locus, const Pairing& sire, const Pairing& dam, Sex sex, const Pairing& young) {
    const double all = alive(locus, sire, dam);
    const double this_one = born(locus, sire, dam, sex, young);
    if (all == 0) return 0;
    // The sex is one variable over all loci, its half was counted there.
    return this_one / all * (species_.loci[locus].linkage == Linkage::autosomal ? 2 : 1);
  }

  double beforehand(const World& world, std::uint16_t locus, const std::vector<Pairing>& made, const Pairing& pairing) {
    const std::size_t animal = made.size();
    const Animal& one = collection_.animals[animal];
    if (one.dam != kNobody) {
      const AnimalIndex sire = collection_.sirings[one.siring].possible[world.sirings[one.siring]].sire;
      return born_alive(locus, made[sire], made[one.dam], world.sexes[animal], pairing);
    }
    auto& chances = founders_[animal];
    if (chances.empty()) chances = founder(world, locus, animal);
    const std::size_t state = state_of(world, locus, animal, pairing);
    int alike = 0;
    const auto k = static_cast<int>(species_.loci[locus].alleles.size());
    for (int p = kAbsent; p < k; ++p) {
      for (int m = kAbsent; m < k; ++m) {
        if (has_form(world.sexes[animal], locus, {p, m})) alike += state_of(world, locus, animal, {p, m}) == state;
      }
    }
    return chances[state] / alike;
  }

  std::vector<double> founder(const World& world, std::uint16_t locus, std::size_t animal) const {
    std::vector<const Statement*> own;
    std::deque<Statement> here;
    std::size_t shared = 0;
    for (const Statement& statement : collection_.statements) {
      const bool is_shared = either_or(statement);
      const bool of_this_locus = is_shared && is_of(world, shared++, locus);
      if (statement.animal != animal) continue;
      if (!is_shared || statement.says != Says::possible) {
        own.push_back(&statement);
      } else if (of_this_locus) {
        here.push_back(statement);
        std::erase_if(here.back().options, [&](const Option& option) { return option.locus != locus; });
        own.push_back(&here.back());
      }
    }
    return founder_chances(species_, locus, states_[locus], static_cast<AnimalIndex>(animal), own, settings_, false);
  }

  /// One name of several genes: at least one of them shows. A founder of whose genes nothing else is said shows one.
  bool is_inclusive(const Statement& one) const {
    if (one.says != Says::looks || !one.one_name) return false;
    if (collection_.animals[one.animal].dam != kNobody) return true;
    for (const Statement& other : collection_.statements) {
      if (&other == &one || other.animal != one.animal || (either_or(other) && loci_of(other) == loci_of(one)))
        continue;
      for (const Option& a : other.options) {
        for (const Option& b : one.options) {
          if (a.locus == b.locus) return true;
        }
      }
    }
    return false;
  }

  static bool is_of(const World& world, std::size_t statement, std::uint16_t locus) {
    const auto& loci = world.of[statement];
    return std::find(loci.begin(), loci.end(), locus) != loci.end();
  }

  double said(const World& world, std::uint16_t locus, std::size_t animal, const Pairing& pairing) const {
    const std::size_t state = state_of(world, locus, animal, pairing);
    double out = 1;
    bool look_recorded = false;
    std::size_t shared = 0;
    for (const Statement& one : collection_.statements) {
      const bool is_shared = either_or(one);
      const bool elsewhere = is_shared && !is_of(world, shared++, locus);
      if (one.animal != animal) continue;
      const bool speaks_here = std::any_of(one.options.begin(), one.options.end(),
                                           [&](const Option& option) { return option.locus == locus; });
      if (!speaks_here || !is_evidence(one, collection_.animals[animal].dam == kNobody)) continue;
      look_recorded |= one.says == Says::looks;
      if (is_shared && one.says == Says::looks) {
        const bool erred = world.of[shared - 1].empty();
        if (erred || (elsewhere && is_inclusive(one))) continue;
        const std::uint8_t look = states_[locus].look(state);
        const bool unseen_here =
            elsewhere && (is_hidden(locus, animal, look, &one) || hides(one, world.of[shared - 1], locus, look));
        const Words& said = words(one, locus);
        out *= (elsewhere ? said.normal : said.shows)[unseen_here ? normal_state(locus) : state];
        continue;
      }
      if (elsewhere) continue;
      if (one.says == Says::unseen && is_hidden(locus, animal, states_[locus].look(state))) continue;
      if (one.says == Says::unseen && said_normal(one, locus)) continue;
      out *= words(one, locus).says[state];
    }
    for (const Statement& one : collection_.statements) {
      if (one.animal != animal || one.says != Says::nothing_else || look_recorded || gave_up(one, locus)) continue;
      const std::uint8_t look = states_[locus].look(state);
      out *= words(one, locus).says[is_hidden(locus, animal, look) ? normal_state(locus) : state];
    }
    return out;
  }

  /// The same author said of a look at this locus that he cannot tell it.
  bool gave_up(const Statement& nothing_else, std::uint16_t locus) const {
    return std::any_of(collection_.statements.begin(), collection_.statements.end(), [&](const Statement& one) {
      const bool of_looks = one.says == Says::looks || one.says == Says::unseen;
      return of_looks && one.animal == nothing_else.animal && one.author == nothing_else.author &&
             one.certainty == Certainty::cannot_tell &&
             std::any_of(one.options.begin(), one.options.end(),
                         [&](const Option& option) { return option.locus == locus; });
    });
  }

  /// The same author was as sure that the animal looks normal at this locus, of which no look is said.
  bool said_normal(const Statement& unseen, std::uint16_t locus) const {
    bool normal = false;
    for (const Statement& one : collection_.statements) {
      if (one.animal != unseen.animal || one.certainty == Certainty::cannot_tell) continue;
      if (one.says == Says::looks && !options_at(one, locus).empty()) return false;
      normal |= one.says == Says::nothing_else && one.author == unseen.author && one.certainty <= unseen.certainty &&
                !gave_up(one, locus);
    }
    return normal;
  }

  /// What the statement says of one of these loci hides the look.
  bool hides(const Statement& statement, const std::vector<std::uint16_t>& of, std::uint16_t locus,
             std::uint8_t look) const {
    for (const Hiding& hiding : species_.hidings) {
      if (hiding.hidden.locus != locus || hiding.hidden.look != look) continue;
      for (const Option& option : statement.options) {
        const bool holds = std::find(of.begin(), of.end(), option.locus) != of.end();
        if (holds && option.locus == hiding.shows.locus && option.look == hiding.shows.look) return true;
      }
    }
    return false;
  }

  /// Something that hides this look is said to be seen on the animal, by another statement than `but`.
  bool is_hidden(std::uint16_t locus, std::size_t animal, std::uint8_t look, const Statement* but = nullptr) const {
    for (const Hiding& hiding : species_.hidings) {
      if (hiding.hidden.locus != locus || hiding.hidden.look != look) continue;
      for (const Statement& one : collection_.statements) {
        if (&one == but || one.animal != animal || one.says != Says::looks) continue;
        if (one.certainty == Certainty::cannot_tell) continue;
        for (const Option& option : one.options) {
          if (option.locus == hiding.shows.locus && option.look == hiding.shows.look) return true;
        }
      }
    }
    return false;
  }

  std::size_t normal_state(std::uint16_t locus) const {
    for (std::size_t i = 0; i < states_[locus].size(); ++i) {
      if (states_[locus].look(i) == 0) return i;
    }
    return 0;
  }

  const Species& species_;
  const Collection& collection_;
  const Settings& settings_;
  std::vector<States> states_;
  std::vector<const Statement*> either_or_;
  std::vector<std::vector<Words>> words_;      ///< by statement and locus
  std::vector<std::vector<double>> alive_;     ///< by locus and both parents' forms; below 0: not known yet
  std::vector<std::vector<double>> founders_;  ///< of the locus at hand: what is believed beforehand, by animal
  Enumerated out_;
};

}  // namespace

Enumerated enumerate(const core::genetics::Species& species, const core::genetics::Collection& collection,
                     const core::genetics::Settings& settings) {
  return Enumerator(species, collection, settings).run();
}

}  // namespace rackside::tests
