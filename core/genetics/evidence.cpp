#include "core/genetics/evidence.h"

#include <algorithm>

namespace rackside::core::genetics {

std::string_view word_of(Basis basis) {
  switch (basis) {
    case Basis::seen:
      return "seen";
    case Basis::bought:
      return "bought as";
    case Basis::parentage:
      return "by parents";
    case Basis::young:
      return "proven by young";
    case Basis::laboratory:
      return "laboratory";
    case Basis::decided:
      return "decided by the keeper";
  }
  return "";
}

std::string_view word_of(Problem::Kind kind) {
  switch (kind) {
    case Problem::Kind::own_ancestor:
      return "an animal is among its own ancestors";
    case Problem::Kind::male_dam:
      return "a mother is recorded as male";
    case Problem::Kind::female_sire:
      return "a father is recorded as female";
    case Problem::Kind::unknown_reference:
      return "a statement names what there is not";
    case Problem::Kind::excluding_statements:
      return "statements about one animal exclude each other";
    case Problem::Kind::impossible_family:
      return "what was said of relatives does not fit together";
    case Problem::Kind::hidden_carrier:
      return "an animal without known parents must carry what nobody knew of";
    case Problem::Kind::too_wide:
      return "too many loops for an exact answer";
  }
  return "";
}

namespace {

double right_chance(const Species& species, Certainty certainty) {
  return certainty == Certainty::sure ? species.sure : species.think_so;
}

/// The chance that an observer calls look `is` by the name of `called`.
double called_chance(const Species& species, const Locus& locus, Certainty certainty, std::uint8_t is,
                     std::uint8_t called) {
  const double right = right_chance(species, certainty);
  double mistaken = 0;
  double this_one = 0;
  for (const Mistake& one : locus.mistakes) {
    if (one.is != is) continue;
    mistaken += one.chance;
    if (one.called == called) this_one += one.chance;
  }
  if (mistaken > 0 && certainty == Certainty::think_so) return is == called ? 1 - mistaken : this_one;
  if (mistaken > 0) return is == called ? right : (1 - right) * this_one / mistaken;
  if (locus.looks.size() < 2) return 1;
  return is == called ? right : (1 - right) / static_cast<double>(locus.looks.size() - 1);
}

double looks_chance(const Species& species, const Locus& locus, const Statement& statement, std::uint8_t is,
                    std::span<const Option> options) {
  if (options.empty()) return called_chance(species, locus, statement.certainty, is, 0);
  double sum = 0;
  std::vector<std::uint8_t> counted;
  for (const Option& option : options) {
    if (std::find(counted.begin(), counted.end(), option.look) != counted.end()) continue;
    counted.push_back(option.look);
    sum += called_chance(species, locus, statement.certainty, is, option.look);
  }
  return sum;
}

bool holds(const States& states, std::size_t i, Says says, const Option& option) {
  switch (says) {
    case Says::carries:
      return states.copies(i, option.a) >= 1;
    case Says::het:
      return states.copies(i, option.a) == 1 && !states[i].single;
    case Says::free_of:
      return states.copies(i, option.a) == 0;
    case Says::genotype:
      return (states[i].a == option.a && states[i].b == option.b) ||
             (states[i].a == option.b && states[i].b == option.a);
    default:
      return true;
  }
}

double chance_of(const Species& species, const Locus& locus, const States& states, std::size_t i,
                 const Statement& statement, std::span<const Option> options, std::span<const std::uint8_t> hidden) {
  const std::uint8_t look = states.look(i);
  const bool is_hidden = std::find(hidden.begin(), hidden.end(), look) != hidden.end();
  switch (statement.says) {
    case Says::looks:
    case Says::nothing_else:
      return looks_chance(species, locus, statement, is_hidden && options.empty() ? 0 : look, options);
    case Says::unseen: {
      double out = 1;
      for (const Option& option : options) {
        if (look == option.look && !is_hidden) out = 1 - right_chance(species, statement.certainty);
      }
      return out;
    }
    case Says::possible:
      return 1;
    default: {
      double out = 1;
      for (const Option& option : options) {
        out *= holds(states, i, statement.says, option) ? statement.chance : 1 - statement.chance;
      }
      return out;
    }
  }
}

}  // namespace

std::vector<double> likelihood(const Species& species, std::uint16_t locus, const States& states,
                               const Statement& statement, std::span<const Option> options,
                               std::span<const std::uint8_t> hidden) {
  std::vector<double> out(states.size(), 1);
  if (statement.certainty == Certainty::cannot_tell) return out;
  for (std::size_t i = 0; i < out.size(); ++i) {
    out[i] = chance_of(species, species.loci[locus], states, i, statement, options, hidden);
  }
  return out;
}

namespace {

bool names_look(const Statement& statement, std::uint16_t locus, std::uint8_t look) {
  return std::any_of(statement.options.begin(), statement.options.end(),
                     [&](const Option& option) { return option.locus == locus && option.look == look; });
}

bool speaks_of(const Statement& statement, std::uint16_t locus) {
  return std::any_of(statement.options.begin(), statement.options.end(),
                     [&](const Option& option) { return option.locus == locus; });
}

}  // namespace

std::vector<std::uint8_t> hidden_looks(const Species& species, std::uint16_t locus,
                                       std::span<const Statement* const> of_animal) {
  std::vector<std::uint8_t> out;
  for (const Hiding& one : species.hidings) {
    if (one.hidden.locus != locus) continue;
    const bool shows = std::any_of(of_animal.begin(), of_animal.end(), [&](const Statement* said) {
      return said->says == Says::looks && said->certainty != Certainty::cannot_tell &&
             names_look(*said, one.shows.locus, one.shows.look);
    });
    if (shows) out.push_back(one.hidden.look);
  }
  return out;
}

bool is_silent(const Statement& nothing_else, std::uint16_t locus, std::span<const Statement* const> of_animal) {
  return std::any_of(of_animal.begin(), of_animal.end(), [&](const Statement* said) {
    if ((said->says != Says::looks && said->says != Says::unseen) || !speaks_of(*said, locus)) return false;
    if (said->certainty == Certainty::cannot_tell) return said->author == nothing_else.author;
    return said->says == Says::looks;
  });
}

bool is_said_already(const Statement& unseen, std::uint16_t locus, std::span<const Statement* const> of_animal) {
  return std::any_of(of_animal.begin(), of_animal.end(), [&](const Statement* said) {
    return said->says == Says::nothing_else && said->author == unseen.author && said->certainty <= unseen.certainty &&
           !is_silent(*said, locus, of_animal);
  });
}

bool is_evidence(const Statement& statement, bool founder) {
  if (statement.certainty == Certainty::cannot_tell) return false;
  if (statement.says == Says::possible) return founder && statement.basis != Basis::parentage;
  return founder || statement.basis != Basis::parentage;
}

namespace {

/// Alleles that alone, in one copy or two, give this look; if there are none, those of the pairs that do.
std::vector<AlleleIndex> alleles_behind(const Locus& locus, std::uint8_t look) {
  std::vector<AlleleIndex> alone;
  std::vector<AlleleIndex> together;
  const auto k = static_cast<AlleleIndex>(locus.alleles.size());
  for (AlleleIndex a = 1; a < k; ++a) {
    if (locus.pair(a, a).look == look || locus.pair(kWild, a).look == look) alone.push_back(a);
    for (AlleleIndex b = 1; b < k; ++b) {
      if (locus.pair(a, b).look == look) {
        together.push_back(a);
        break;
      }
    }
  }
  return alone.empty() ? together : alone;
}

/// Named looks, and the normal one, are equally likely beforehand.
void level_looks(const States& states, std::vector<bool> named, std::vector<double>& chances) {
  named[0] = true;
  std::vector<double> sums(named.size());
  for (std::size_t i = 0; i < states.size(); ++i) sums[states.look(i)] += chances[i];
  for (std::size_t i = 0; i < states.size(); ++i) {
    const std::uint8_t look = states.look(i);
    if (named[look] && sums[look] > 0) chances[i] /= sums[look];
  }
}

struct Promise {
  AlleleIndex allele;
  double chance;
};

/// Taken at their word; of two about one allele the lower.
std::vector<Promise> promises_in(std::uint16_t locus, std::span<const Statement* const> statements) {
  std::vector<Promise> out;
  for (const Statement* one : statements) {
    if (one->says != Says::possible || !is_evidence(*one, true)) continue;
    for (const Option& option : one->options) {
      if (option.locus != locus) continue;
      auto known = std::find_if(out.begin(), out.end(), [&](const Promise& p) { return p.allele == option.a; });
      if (known == out.end()) {
        out.push_back({option.a, one->chance});
      } else {
        known->chance = std::min(known->chance, one->chance);
      }
    }
  }
  return out;
}

double promised(const States& states, std::size_t i, const std::vector<Promise>& promises,
                const std::vector<bool>& mentioned) {
  if (!states.pair(i).viable) return 0;
  double out = 1;
  for (std::size_t allele = 1; allele < mentioned.size(); ++allele) {
    const int copies = states.copies(i, static_cast<AlleleIndex>(allele));
    const auto promise =
        std::find_if(promises.begin(), promises.end(), [&](const Promise& p) { return p.allele == allele; });
    if (promise == promises.end()) {
      if (copies > 0 && !mentioned[allele]) return 0;
    } else if (copies == 0) {
      out *= 1 - promise->chance;
    } else {
      // A hemizygous animal has no second place, so its one copy is the carrier.
      out *= copies == 1 ? promise->chance : 0;
    }
  }
  return out;
}

/// The same number of genotypes for each count of copies, so that what was promised is what comes out.
void share_orders(const States& states, std::vector<double>& chances) {
  for (std::size_t i = 0; i < states.size(); ++i) {
    std::size_t alike = 0;
    for (std::size_t j = 0; j < states.size(); ++j) {
      const bool same = states[i].sex == states[j].sex && states[i].single == states[j].single &&
                        std::minmax(states[i].a, states[i].b) == std::minmax(states[j].a, states[j].b);
      alike += same;
    }
    chances[i] /= static_cast<double>(alike);
  }
}

void make_sum_one(std::vector<double>& chances) {
  double all = 0;
  for (double one : chances) all += one;
  if (all <= 0) return;
  for (double& one : chances) one /= all;
}

}  // namespace

std::vector<AlleleRef> mentioned_alleles(const Species& species, const Statement& statement) {
  std::vector<AlleleRef> out;
  if (statement.certainty == Certainty::cannot_tell || statement.chance <= 0) return out;
  for (const Option& option : statement.options) {
    switch (statement.says) {
      case Says::looks:
        if (option.look == 0) break;
        for (AlleleIndex a : alleles_behind(species.loci[option.locus], option.look)) out.push_back({option.locus, a});
        break;
      case Says::genotype:
        if (option.b != kWild) out.push_back({option.locus, option.b});
        [[fallthrough]];
      case Says::carries:
      case Says::het:
      case Says::possible:
        if (option.a != kWild) out.push_back({option.locus, option.a});
        break;
      default:
        break;
    }
  }
  return out;
}

std::vector<double> founder_chances(const Species& species, std::uint16_t locus, const States& states, AnimalIndex self,
                                    std::span<const Statement* const> statements, const Settings& settings,
                                    bool hidden) {
  const Locus& where = species.loci[locus];
  std::vector<bool> mentioned(where.alleles.size());
  std::vector<bool> named(where.looks.size());
  for (const Statement* one : statements) {
    for (const AlleleRef& ref : mentioned_alleles(species, *one)) {
      if (ref.locus == locus) mentioned[ref.allele] = true;
    }
    if (one->says != Says::looks || one->animal != self) continue;
    for (const Option& option : one->options) {
      if (option.locus == locus) named[option.look] = true;
    }
  }
  if (const auto promises = promises_in(locus, statements); !promises.empty()) {
    std::vector<double> out(states.size());
    for (std::size_t i = 0; i < states.size(); ++i) out[i] = promised(states, i, promises, mentioned);
    share_orders(states, out);
    make_sum_one(out);
    return out;
  }
  std::vector<double> frequencies(where.alleles.size());
  double all = 0;
  for (std::size_t a = 1; a < frequencies.size(); ++a) {
    frequencies[a] = where.alleles[a].frequency;
    if (hidden) frequencies[a] = std::max(frequencies[a], settings.hidden_frequency);
    if (mentioned[a]) frequencies[a] = std::max(frequencies[a], settings.mentioned_frequency);
    all += frequencies[a];
  }
  const double scale = all > 1 ? 1 / all : 1;
  for (double& one : frequencies) one *= scale;
  frequencies[kWild] = std::max(0.0, 1 - all);
  std::vector<double> out = states.population(frequencies);
  if (std::find(named.begin() + 1, named.end(), true) != named.end()) level_looks(states, named, out);
  make_sum_one(out);
  return out;
}

bool same_statement(const Statement& a, const Statement& b) {
  const auto same_option = [](const Option& x, const Option& y) {
    return x.locus == y.locus && x.look == y.look && x.a == y.a && x.b == y.b;
  };
  return a.animal == b.animal && a.basis == b.basis && a.says == b.says && a.certainty == b.certainty &&
         a.chance == b.chance && a.one_name == b.one_name && a.author == b.author &&
         std::equal(a.options.begin(), a.options.end(), b.options.begin(), b.options.end(), same_option);
}

bool refers_to_known(const Species& species, std::size_t animals, const Statement& statement) {
  if (statement.animal >= animals || !(statement.chance >= 0 && statement.chance <= 1)) return false;
  if (statement.options.empty() != (statement.says == Says::nothing_else)) return false;
  return std::all_of(statement.options.begin(), statement.options.end(), [&](const Option& option) {
    if (option.locus >= species.loci.size()) return false;
    const Locus& locus = species.loci[option.locus];
    return option.look < locus.looks.size() && option.a < locus.alleles.size() && option.b < locus.alleles.size();
  });
}

}  // namespace rackside::core::genetics
