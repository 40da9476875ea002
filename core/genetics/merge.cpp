#include "core/genetics/merge.h"

#include <algorithm>
#include <array>

#include "core/genetics/states.h"

namespace rackside::core::genetics {
namespace {

using LookMap = std::vector<std::uint8_t>;  ///< new look by old one

void add_names(std::vector<std::string>& to, const std::string& name, const std::vector<std::string>& also) {
  to.push_back(name);
  to.insert(to.end(), also.begin(), also.end());
}

/// Combinations name a look once.
void drop_repeated_parts(Combination& combination) {
  std::vector<Combination::Part> once;
  for (const Combination::Part& part : combination.parts) {
    const bool known = std::any_of(once.begin(), once.end(), [&](const Combination::Part& one) {
      return one.locus == part.locus && one.look == part.look;
    });
    if (!known) once.push_back(part);
  }
  combination.parts = std::move(once);
}

/// The looks of `from`, those of a name that is there already as that one.
LookMap take_looks(Locus& to, const Locus& from) {
  LookMap out{0};
  for (std::size_t i = 1; i < from.looks.size(); ++i) {
    if (const auto known = to.find_look(from.looks[i])) {
      out.push_back(*known);
      continue;
    }
    to.looks.push_back(from.looks[i]);
    out.push_back(static_cast<std::uint8_t>(to.looks.size() - 1));
  }
  for (const FormerLook& one : from.former_looks) to.former_looks.push_back({one.name, out[one.look]});
  return out;
}

/// The mistakes in the looks' new numbers; of two alike the likelier.
std::vector<Mistake> renumbered(const std::vector<Mistake>& mistakes, const LookMap& looks) {
  std::vector<Mistake> out;
  for (const Mistake& one : mistakes) {
    const Mistake now{looks[one.is], looks[one.called], one.chance};
    if (now.is == now.called) continue;
    const auto known = std::find_if(out.begin(), out.end(),
                                    [&](const Mistake& m) { return m.is == now.is && m.called == now.called; });
    if (known == out.end()) {
      out.push_back(now);
    } else {
      known->chance = std::max(known->chance, now.chance);
    }
  }
  return out;
}

std::string too_likely_mistake(const Locus& locus) {
  for (std::size_t look = 0; look < locus.looks.size(); ++look) {
    double all = 0;
    for (const Mistake& one : locus.mistakes) all += one.is == look ? one.chance : 0;
    if (all > 1) return "the chances of mistaking \"" + locus.looks[look] + "\" are over 1 together";
  }
  return {};
}

/// Everything that names a look by its locus.
template <typename Change>
void each_part(Species& species, Change&& change) {
  for (Combination& combination : species.combinations) {
    for (Combination::Part& part : combination.parts) change(part);
  }
  for (Hiding& hiding : species.hidings) {
    change(hiding.shows);
    change(hiding.hidden);
  }
}

/// Of one locus now, what two alleles look like together is told by their `pair`.
void drop_inner_hidings(Species& species) {
  std::erase_if(species.hidings, [](const Hiding& one) { return one.shows.locus == one.hidden.locus; });
}

void move_parts(Species& species, std::uint16_t first, std::uint16_t second, const LookMap& looks) {
  each_part(species, [&](Combination::Part& part) {
    if (part.locus == second) part = {first, looks[part.look]};
    if (part.locus > second) --part.locus;
  });
  drop_inner_hidings(species);
}

/// What two pairs of the merged allele's say together: what hurts in one account hurts.
void join(Pair& into, const Pair& from) {
  into.viable = into.viable && from.viable;
  if (into.harm.empty()) into.harm = from.harm;
  if (into.harm_source.kind == Source::Kind::none) into.harm_source = from.harm_source;
  if (into.name.empty()) into.name = from.name;
}

/// One allele that becomes another's name, step by step.
class Fold {
 public:
  Fold(Species& species, std::uint16_t index, AlleleIndex stays, AlleleIndex goes)
      : species_(species), index_(index), locus_(species.loci[index]), stays_(stays), goes_(goes) {
    for (std::size_t i = 0; i < locus_.looks.size(); ++i) looks_.push_back(static_cast<std::uint8_t>(i));
  }

  std::string run() {
    if (stays_ == goes_) return "that is one allele already";
    if (stays_ == kWild || goes_ == kWild) return "the normal allele is no other's name";
    if (!seen_alike())
      return "\"" + name(stays_) + "\" and \"" + name(goes_) +
             "\" are not inherited alike (one is recessive, dominant or incomplete, the other not): correct the one "
             "that "
             "is wrong first";
    std::string problem = join_pairs();
    if (!problem.empty()) return problem;
    take_names();
    remove_allele();
    remove_looks();
    locus_.mistakes = renumbered(locus_.mistakes, looks_);
    return too_likely_mistake(locus_);
  }

 private:
  const std::string& name(AlleleIndex allele) const { return locus_.alleles[allele].name; }
  Pair& pair(AlleleIndex a, AlleleIndex b) { return locus_.pairs[locus_.pair_index(a, b)]; }

  /// In one copy and in two.
  bool seen_alike() {
    const auto shape = [&](AlleleIndex allele) {
      const std::uint8_t one = pair(kWild, allele).look;
      return std::array{one == 0, one == pair(allele, allele).look};
    };
    return shape(stays_) == shape(goes_);
  }

  /// Its looks are from now on the other's, unless further alleles look so too.
  void rename_look(std::uint8_t from, std::uint8_t to) {
    if (from == 0 || to == 0 || from == to) return;
    for (AlleleIndex b = 0; b < locus_.alleles.size(); ++b) {
      for (AlleleIndex a = 0; a <= b; ++a) {
        if (a != goes_ && b != goes_ && pair(a, b).defined && pair(a, b).look == from) return;
      }
    }
    looks_[from] = to;
  }

  std::string join_pairs() {
    rename_look(pair(kWild, goes_).look, pair(kWild, stays_).look);
    rename_look(pair(goes_, goes_).look, pair(stays_, stays_).look);
    join(pair(kWild, stays_), pair(kWild, goes_));
    join(pair(stays_, stays_), pair(goes_, goes_));
    for (AlleleIndex other = 1; other < locus_.alleles.size(); ++other) {
      if (other == stays_ || other == goes_) continue;
      Pair& mine = pair(stays_, other);
      const Pair theirs = pair(goes_, other);
      if (!theirs.defined) continue;
      if (!mine.defined) {
        mine = theirs;
      } else if (looks_[mine.look] != looks_[theirs.look]) {
        return "with \"" + name(other) +
               "\" the two do not look alike, so they are not one allele, or one of the pairs is "
               "wrong";
      } else {
        join(mine, theirs);
      }
    }
    return {};
  }

  void take_names() {
    Allele& allele = locus_.alleles[stays_];
    const Allele& gone = locus_.alleles[goes_];
    if (plain_name(gone.name) != plain_name(allele.name)) {
      add_names(allele.also, gone.name, gone.also);
    } else {
      allele.also.insert(allele.also.end(), gone.also.begin(), gone.also.end());
    }
    allele.frequency = std::max(allele.frequency, gone.frequency);
    if (allele.source.kind == Source::Kind::none) allele.source = gone.source;
    for (std::size_t look = 0; look < looks_.size(); ++look) {
      if (looks_[look] != look) locus_.former_looks.push_back({locus_.looks[look], looks_[look]});
    }
  }

  void remove_allele() {
    std::vector<Pair> left;
    for (AlleleIndex b = 0; b < locus_.alleles.size(); ++b) {
      for (AlleleIndex a = 0; a <= b; ++a) {
        if (a == goes_ || b == goes_) continue;
        left.push_back(pair(a, b));
        left.back().look = looks_[left.back().look];
      }
    }
    locus_.pairs = std::move(left);
    locus_.alleles.erase(locus_.alleles.begin() + goes_);
  }

  /// Looks that nothing has any more are gone, so that nobody can be mistaken for them.
  void remove_looks() {
    LookMap number(locus_.looks.size());
    std::vector<std::string> left;
    for (std::size_t look = 0; look < locus_.looks.size(); ++look) {
      if (looks_[look] != look) continue;
      number[look] = static_cast<std::uint8_t>(left.size());
      left.push_back(locus_.looks[look]);
    }
    for (std::uint8_t& one : looks_) one = number[one];
    locus_.looks = std::move(left);
    for (Pair& one : locus_.pairs) one.look = number[one.look];
    for (FormerLook& one : locus_.former_looks) one.look = looks_[one.look];
    each_part(species_, [&](Combination::Part& part) {
      if (part.locus == index_) part.look = looks_[part.look];
    });
    for (Combination& combination : species_.combinations) drop_repeated_parts(combination);
  }

  Species& species_;
  std::uint16_t index_;
  Locus& locus_;
  AlleleIndex stays_, goes_;
  LookMap looks_;
};

}  // namespace

std::string fold_alleles(Species& species, std::uint16_t locus, AlleleIndex stays, AlleleIndex goes) {
  return Fold(species, locus, stays, goes).run();
}

std::string merge_loci(Species& species, std::uint16_t first, std::uint16_t second) {
  if (first == second) return "that is one locus already";
  Locus& to = species.loci[first];
  const Locus from = species.loci[second];
  if (to.linkage != from.linkage || to.recombination != from.recombination)
    return "\"" + to.name + "\" and \"" + from.name +
           "\" are not linked alike, so they cannot be one locus: give both the same linkage first";
  Locus larger = to;
  larger.alleles.insert(larger.alleles.end(), from.alleles.begin() + 1, from.alleles.end());
  if (state_count(larger) > kMaxStates) return "together they have too many alleles (64 genotypes are the limit)";

  add_names(to.also, from.name, from.also);
  if (to.source.kind == Source::Kind::none) to.source = from.source;
  const LookMap looks = take_looks(to, from);
  const auto before = static_cast<AlleleIndex>(to.alleles.size());
  const auto moved = [&](AlleleIndex a) { return a == kWild ? kWild : static_cast<AlleleIndex>(before + a - 1); };
  to.alleles.insert(to.alleles.end(), from.alleles.begin() + 1, from.alleles.end());
  to.pairs.resize(to.alleles.size() * (to.alleles.size() + 1) / 2);
  for (AlleleIndex b = 1; b < from.alleles.size(); ++b) {
    for (AlleleIndex a = 0; a <= b; ++a) {
      Pair& pair = to.pairs[to.pair_index(moved(a), moved(b))];
      pair = from.pair(a, b);
      pair.look = looks[pair.look];
    }
  }
  for (const Mistake& one : renumbered(from.mistakes, looks)) to.mistakes.push_back(one);
  LookMap same;
  for (std::size_t i = 0; i < to.looks.size(); ++i) same.push_back(static_cast<std::uint8_t>(i));
  to.mistakes = renumbered(to.mistakes, same);
  move_parts(species, first, second, looks);
  species.loci.erase(species.loci.begin() + second);
  const std::uint16_t now = first < second ? first : first - 1;
  std::string problem = too_likely_mistake(species.loci[now]);
  for (AlleleIndex a = 1; problem.empty() && a < before; ++a) {
    const Locus& locus = species.loci[now];
    const std::string name = plain_name(locus.alleles[a].name);
    for (AlleleIndex b = before; b < locus.alleles.size(); ++b) {
      if (plain_name(locus.alleles[b].name) != name) continue;
      problem = fold_alleles(species, now, a, b);
      break;
    }
  }
  return problem;
}

}  // namespace rackside::core::genetics
