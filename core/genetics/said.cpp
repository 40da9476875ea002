#include "core/genetics/said.h"

#include <algorithm>
#include <array>
#include <optional>

#include "core/base/words.h"
namespace rackside::core::genetics {
namespace {

constexpr std::array kStates = {
    GeneState{"visual", "it looks so"},
    GeneState{"normal", "it looks normal but for what else is said of it"},
    GeneState{"unseen", "its parents make the look possible, it does not show it"},
    GeneState{"het", "one copy, for certain"},
    GeneState{"possible-het", "one copy, with a chance"},
    GeneState{"carries", "at least one copy, for certain"},
    GeneState{"homozygous", "two copies, for certain"},
    GeneState{"not", "no copy, for certain"},
};
constexpr std::array<std::string_view, 6> kBases = {"seen", "bought", "parents", "proven", "lab", "unknown"};
constexpr std::array<std::string_view, 3> kCertainties = {"sure", "think-so", "cannot-tell"};

Basis basis_of(std::string_view word) {
  if (word == "seen") return Basis::seen;
  if (word == "parents") return Basis::parentage;
  if (word == "proven") return Basis::young;
  if (word == "lab") return Basis::laboratory;
  return Basis::bought;
}

Certainty certainty_of(std::string_view word) {
  if (word == "think-so") return Certainty::think_so;
  if (word == "cannot-tell") return Certainty::cannot_tell;
  return Certainty::sure;
}

std::optional<Says> says_of(std::string_view state) {
  if (state == "visual") return Says::looks;
  if (state == "normal") return Says::nothing_else;
  if (state == "unseen") return Says::unseen;
  if (state == "het") return Says::het;
  if (state == "possible-het") return Says::possible;
  if (state == "carries") return Says::carries;
  if (state == "homozygous") return Says::genotype;
  if (state == "not") return Says::free_of;
  return std::nullopt;
}

/// "LOCUS/NAME": the place of the slash, if the part before it is a locus.
struct Qualified {
  std::optional<std::uint16_t> locus;
  std::string_view name;
};
Qualified qualified(const Species& species, std::string_view name) {
  const auto slash = name.rfind('/');
  if (slash == std::string_view::npos) return {std::nullopt, name};
  const auto locus = species.find_locus(name.substr(0, slash));
  return locus ? Qualified{locus, name.substr(slash + 1)} : Qualified{std::nullopt, name};
}

/// The look of those who show the allele: with one copy if that is enough.
std::uint8_t shown_by(const Locus& locus, AlleleIndex allele) {
  const std::uint8_t one = locus.pair(kWild, allele).look;
  return one != 0 ? one : locus.pair(allele, allele).look;
}

void add_look(std::vector<Option>& options, std::size_t locus, std::uint8_t look) {
  const auto at = static_cast<std::uint16_t>(locus);
  const bool known = std::any_of(options.begin(), options.end(),
                                 [&](const Option& one) { return one.locus == at && one.look == look; });
  if (look != 0 && !known) options.push_back({.locus = at, .look = look});
}

void add_looks_of(const Locus& locus, std::size_t index, std::string_view name, std::vector<Option>& options) {
  const std::string plain = plain_name(name);
  if (const auto look = locus.find_look(name)) return add_look(options, index, *look);
  if (const auto allele = locus.find_allele(name)) return add_look(options, index, shown_by(locus, *allele));
  for (const Pair& pair : locus.pairs) {
    if (!pair.name.empty() && plain_name(pair.name) == plain) return add_look(options, index, pair.look);
  }
}

std::string unknown_name(const Species& species, std::string_view name) {
  std::string text = "The catalogue of the " + species.name + " has no gene or look called “" + std::string(name) + "”";
  const std::vector<std::string> near = names_near(species, name);
  for (std::size_t i = 0; i < near.size(); ++i) text += (i == 0 ? "; it has " : ", ") + near[i];
  return text + ".";
}

std::string names_a_look(std::string_view name) {
  return "“" + std::string(name) + "” is how an animal looks, not a gene that it has copies of: name the gene.";
}

std::string several_loci(const Species& species, std::string_view name, const std::vector<AlleleRef>& refs) {
  std::string text = "“" + std::string(name) + "” is the name of several genes: say ";
  for (std::size_t i = 0; i < refs.size(); ++i)
    text += (i == 0 ? "" : " or ") + species.loci[refs[i].locus].name + "/" +
            species.loci[refs[i].locus].alleles[refs[i].allele].name;
  return text + ".";
}

std::string several_looks(const Species& species, std::string_view name, const std::vector<Option>& options) {
  std::string text = "“" + std::string(name) + "” is the name of several looks: say ";
  for (std::size_t i = 0; i < options.size(); ++i) {
    const Locus& locus = species.loci[options[i].locus];
    text += (i == 0 ? "" : " or ") + locus.name + "/" + locus.looks[options[i].look];
  }
  return text + ".";
}

const Combination* combination_named(const Species& species, std::string_view name) {
  const std::string plain = plain_name(name);
  for (const Combination& one : species.combinations) {
    if (plain_name(one.name) == plain) return &one;
  }
  return nullptr;
}

/// The trade rounds thirds.
double chance_said(unsigned percent) {
  if (percent == 66 || percent == 67) return 2.0 / 3;
  if (percent == 33) return 1.0 / 3;
  return std::min(percent, 100U) / 100.0;
}

Statement blank(const SaidOfGene& said, Says says) {
  Statement out;
  out.basis = basis_of(said.basis);
  out.says = says;
  out.certainty = certainty_of(said.certainty);
  if (says == Says::possible) out.chance = chance_said(said.chance_percent);
  return out;
}

/// Of a pair that has a name and no look of that name.
std::optional<Option> pair_named(const Species& species, std::string_view name) {
  const std::vector<Option> looks = looks_named(species, name);
  if (looks.size() != 1) return std::nullopt;
  const Qualified where = qualified(species, name);
  const std::uint16_t at = looks.front().locus;
  const Locus& locus = species.loci[at];
  if (locus.find_look(where.name) || locus.find_allele(where.name)) return std::nullopt;
  for (AlleleIndex a = 0; a < locus.alleles.size(); ++a) {
    for (AlleleIndex b = a; b < locus.alleles.size(); ++b) {
      if (plain_name(locus.pair(a, b).name) == plain_name(where.name)) return Option{.locus = at, .a = a, .b = b};
    }
  }
  return std::nullopt;
}

Understood of_looks(const Species& species, const SaidOfGene& said, Says says) {
  Statement one = blank(said, says);
  for (const std::string& name : said.genes) {
    const std::vector<Option> options = looks_named(species, name);
    if (options.empty()) {
      // A combination that the keeper named: all its looks at once, so several statements.
      const Combination* combination = combination_named(species, name);
      if (combination == nullptr || said.genes.size() > 1) return {{}, unknown_name(species, name)};
      Understood out;
      for (const Combination::Part& part : combination->parts) {
        Statement of_part = one;
        of_part.options = {{.locus = part.locus, .look = part.look}};
        out.statements.push_back(std::move(of_part));
      }
      return out;
    }
    one.options.insert(one.options.end(), options.begin(), options.end());
  }
  one.one_name = said.genes.size() == 1;
  Understood out{{std::move(one)}, {}};
  // A compound without a look of its own is known by its descent: who names it says which alleles it has.
  const auto pair =
      said.genes.size() == 1 && says == Says::looks ? pair_named(species, said.genes.front()) : std::nullopt;
  if (pair && out.statements.front().certainty == Certainty::sure) {
    Statement alleles = blank(said, Says::genotype);
    alleles.options = {*pair};
    out.statements.push_back(std::move(alleles));
  }
  return out;
}

Understood of_copies(const Species& species, const SaidOfGene& said, Says says) {
  if (said.genes.size() != 1)
    return {{}, "Only what is seen can be one of several genes; of copies name one gene at a time."};
  const std::vector<AlleleRef> refs = alleles_named(species, said.genes.front());
  if (refs.empty()) {
    const bool look = !looks_named(species, said.genes.front()).empty();
    return {{}, look ? names_a_look(said.genes.front()) : unknown_name(species, said.genes.front())};
  }
  Statement one = blank(said, says);
  if (says != Says::possible && one.certainty == Certainty::think_so) one.chance = species.think_so;
  one.one_name = true;
  Statement unseen = blank(said, Says::unseen);
  unseen.basis = Basis::seen;
  for (const AlleleRef& ref : refs) {
    one.options.push_back({.locus = ref.locus, .a = ref.allele, .b = ref.allele});
    const Locus& locus = species.loci[ref.locus];
    const std::uint8_t look = locus.pair(ref.allele, ref.allele).look;
    if (locus.pair(kWild, ref.allele).look == 0 && look != 0)
      unseen.options.push_back({.locus = ref.locus, .look = look});
  }
  Understood out{{std::move(one)}, {}};
  // Whoever says "possibly het" of a recessive gene says that it is not seen: that is evidence, also where the chance
  // itself follows from the parents anyway.
  if (says == Says::possible && !unseen.options.empty()) out.statements.push_back(std::move(unseen));
  return out;
}

}  // namespace

std::span<const GeneState> gene_states() {
  return kStates;
}
std::span<const std::string_view> bases() {
  return kBases;
}
std::span<const std::string_view> certainties() {
  return kCertainties;
}

std::vector<Option> looks_named(const Species& species, std::string_view name) {
  std::vector<Option> options;
  const Qualified where = qualified(species, name);
  for (std::size_t i = 0; i < species.loci.size(); ++i) {
    if (!where.locus || *where.locus == i) add_looks_of(species.loci[i], i, where.name, options);
  }
  return options;
}

std::vector<AlleleRef> alleles_named(const Species& species, std::string_view name) {
  const Qualified where = qualified(species, name);
  std::vector<AlleleRef> out = species.find_allele(where.name);
  if (where.locus) std::erase_if(out, [&](const AlleleRef& ref) { return ref.locus != *where.locus; });
  std::erase_if(out, [](const AlleleRef& ref) { return ref.allele == kWild; });
  return out;
}

std::vector<Combination::Part> parts_named(const Species& species, std::string_view names, std::string& problem) {
  std::vector<Combination::Part> out;
  while (true) {
    const auto plus = names.find('+');
    std::string_view name = names.substr(0, plus);
    while (name.starts_with(' ')) name.remove_prefix(1);
    while (name.ends_with(' ')) name.remove_suffix(1);
    const std::vector<Option> options = looks_named(species, name);
    if (options.size() == 1) {
      out.push_back({options[0].locus, options[0].look});
    } else if (options.size() > 1) {
      problem = several_looks(species, name, options);
      return {};
    } else if (const Combination* combination = combination_named(species, name)) {
      out.insert(out.end(), combination->parts.begin(), combination->parts.end());
    } else {
      problem = unknown_name(species, name);
      return {};
    }
    if (plus == std::string_view::npos) return out;
    names.remove_prefix(plus + 1);
  }
}

std::vector<std::string> names_near(const Species& species, std::string_view name) {
  const std::string plain = plain_name(name);
  std::vector<std::pair<std::size_t, std::string>> ranked;
  const auto consider = [&](const std::string& known) {
    const std::size_t distance = edit_distance(plain, plain_name(known));
    if (distance <= 1 + plain.size() / 3) ranked.emplace_back(distance, known);
  };
  for (const Locus& locus : species.loci) {
    for (std::size_t i = 1; i < locus.alleles.size(); ++i) {
      consider(locus.alleles[i].name);
      for (const std::string& also : locus.alleles[i].also) consider(also);
    }
    for (std::size_t i = 1; i < locus.looks.size(); ++i) consider(locus.looks[i]);
  }
  for (const Combination& one : species.combinations) consider(one.name);
  std::sort(ranked.begin(), ranked.end());
  std::vector<std::string> out;
  for (const auto& [distance, known] : ranked) {
    if (out.size() < 3 && std::find(out.begin(), out.end(), known) == out.end()) out.push_back(known);
  }
  return out;
}

std::string look_name(const Species& species, Combination::Part part) {
  const Locus& locus = species.loci[part.locus];
  const std::string& look = locus.looks[part.look];
  return part.look != 0 && looks_named(species, look).size() > 1 ? locus.name + "/" + look : look;
}

std::string allele_name(const Species& species, AlleleRef ref) {
  const Locus& locus = species.loci[ref.locus];
  const std::string& name = locus.alleles[ref.allele].name;
  return species.find_allele(name).size() > 1 ? locus.name + "/" + name : name;
}

std::string several_genes(const Species& species, std::string_view name) {
  return several_loci(species, name, alleles_named(species, name));
}

std::optional<AlleleRef> allele_named(const Species& species, std::string_view name, std::string& problem) {
  const std::vector<AlleleRef> refs = alleles_named(species, name);
  if (refs.size() == 1) return refs.front();
  problem = refs.empty() ? unknown_name(species, name) : several_loci(species, name, refs);
  return std::nullopt;
}

Understood understand(const Species& species, const SaidOfGene& said) {
  const auto says = says_of(said.state);
  if (!says) return {{}, "“" + std::string(said.state) + "” is no statement that this version knows."};
  if (*says == Says::nothing_else) return {{blank(said, *says)}, {}};
  if (said.genes.empty() || said.genes.front().empty()) return {{}, "The statement names no gene."};
  if (*says == Says::looks && said.genes.size() == 1 && plain_name(said.genes.front()) == "normal")
    return {{blank(said, Says::nothing_else)}, {}};
  return *says == Says::looks || *says == Says::unseen ? of_looks(species, said, *says)
                                                       : of_copies(species, said, *says);
}

}  // namespace rackside::core::genetics
