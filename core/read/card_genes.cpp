#include "core/read/card_genes.h"

#include <algorithm>
#include <map>
#include <set>
#include <unordered_map>

#include "core/genetics/phrases.h"
#include "core/genetics/reasons.h"
#include "core/genetics/said.h"
#include "core/read/genes.h"

namespace rackside::core {

using namespace genetics;

namespace {

constexpr double kAll = 1 - 1e-9;  // sums of many products miss 1 by rounding

/// One `says` of an animal, as paper would repeat it.
struct Said {
  EventRow event = 0;
  Instant at = 0;
  Value own;
  std::string state, gene;
};

bool paper_repeats(const std::string& state) {
  return state == "possible-het" || state == "het" || state == "carries" || state == "visual" || state == "homozygous";
}

/// What an eye was not sure of is never among the certain ones.
bool is_unsure(const Said& said) {
  return said.own.text("certainty", "sure") != "sure" || said.own.find("or") != nullptr;
}

double promised_by(const Said& said, const genetics::Statement* understood) {
  if (is_unsure(said)) return kLeastOnPaper;
  if (said.state != "possible-het") return 1;
  return understood != nullptr ? understood->chance : static_cast<double>(said.own.number("chance_percent", 50)) / 100;
}

/// "pastel, one copy", "super pastel": of a gene that shows with one copy, of which no "het" is said; empty for others.
std::string copies_that_show(const Species& species, const Said& said) {
  const bool two = said.state == "homozygous";
  if (!two && said.state != "het" && said.state != "possible-het") return {};
  const auto found = species.find_allele(said.gene);
  if (found.size() != 1) return {};
  const Locus& locus = species.loci[found.front().locus];
  const std::uint8_t of_one = locus.pair(found.front().allele, 0).look;
  const std::uint8_t of_two = locus.pair(found.front().allele, found.front().allele).look;
  if (of_one == 0) return {};
  if (!two) return locus.looks[of_one] + ", one copy";
  return of_two == of_one ? locus.looks[of_one] + ", two copies" : locus.looks[of_two];
}

/// "amel", "het anery": without a chance. `species`: nullptr where the gene is in no catalogue.
std::string thing_said(const Species* species, const Said& said) {
  if (species != nullptr) {
    if (const std::string copies = copies_that_show(*species, said); !copies.empty()) return copies;
  }
  if (said.state == "possible-het" || said.state == "het") return "het " + said.gene;
  if (said.state == "carries") return "carries " + said.gene;
  return is_unsure(said) ? said.gene + others_text(said.own) : said.gene;
}

std::string with_chance(double chance, const std::string& thing) {
  return std::to_string(card_percent(chance)) + " % " + thing;
}

std::string basis_on_paper(std::string_view basis) {
  if (basis == "seen") return "as seen";
  if (basis == "parents") return "by parents";
  if (basis == "proven") return "proven by young";
  if (basis == "lab") return "tested in a laboratory";
  return basis == "unknown" ? "basis not known" : "as bought";
}

/// A look or an allele that a claim is of.
struct Matter {
  bool look = false;
  std::uint16_t locus = 0;
  unsigned which = 0;
  bool operator==(const Matter&) const = default;
  auto operator<=>(const Matter&) const = default;
};

/// What stands on the card, before what is said twice is left out.
struct Entry {
  CardClaim claim;
  bool certain = false;
  double chance = 1;
  std::vector<Matter> of;  ///< in order; several: one of them; empty where the gene is in no catalogue
  bool together = false;   ///< of several all
};

std::vector<Matter> matters_of(const Understood& understood) {
  std::vector<Matter> out;
  for (const genetics::Statement& one : understood.statements) {
    if (one.says == Says::unseen) continue;
    for (const Option& option : one.options) {
      const bool look = one.says == Says::looks;
      out.push_back({look, option.locus, look ? option.look : option.a});
    }
  }
  std::sort(out.begin(), out.end());
  return out;
}

/// One gene is one line, whatever names were used: a certain one, else the lower figure. A name of several genes goes
/// where one of them is certain.
bool is_told_by(const Entry& other, const Entry& one) {
  if (other.claim.text == one.claim.text) return true;
  if (one.of.empty() || other.of.empty()) return false;
  if (other.of == one.of && other.together == one.together)
    return other.certain || (!one.certain && other.chance <= one.chance);
  return other.certain && other.of.size() == 1 && !one.together &&
         std::find(one.of.begin(), one.of.end(), other.of.front()) != one.of.end();
}

void put_on(const std::vector<Entry>& entries, CardGenes& out) {
  for (std::size_t i = 0; i < entries.size(); ++i) {
    bool told = false;
    for (std::size_t k = 0; k < entries.size() && !told; ++k) {
      // Of two that tell each other the first stays.
      told = k != i && is_told_by(entries[k], entries[i]) && (k < i || !is_told_by(entries[i], entries[k]));
    }
    if (!told) (entries[i].certain ? out.certain : out.possible).push_back(entries[i].claim);
  }
}

/// What the animal's own statements speak of, so that its parents are not asked about it again.
class Spoken {
 public:
  void note(const genetics::Statement& statement) {
    for (const Option& option : statement.options) {
      looks_.emplace(option.locus, option.look);
      alleles_.emplace(option.locus, option.a);
      alleles_.emplace(option.locus, option.b);
    }
  }
  bool covers(const Species& species, const Inherited& one) const {
    const Locus& locus = species.loci[one.locus];
    if (one.allele == 0)
      return std::any_of(looks_.begin(), looks_.end(),
                         [&](const auto& look) { return look.first == one.locus && look.second != 0; });
    const std::uint8_t shown = locus.pair(one.allele, one.allele).look;
    return alleles_.contains({one.locus, one.allele}) || (shown != 0 && looks_.contains({one.locus, shown}));
  }

 private:
  std::set<std::pair<std::uint16_t, std::uint8_t>> looks_;
  std::set<std::pair<std::uint16_t, AlleleIndex>> alleles_;
};

}  // namespace

struct CardGeneSource::Work {
  explicit Work(Reader& given) : reader(given) {}

  CardGenes of(Thing animal) {
    if (!lineages) lineages.emplace(load_lineages(reader));
    CardGenes out;
    std::vector<Entry> entries;
    const Lineage* lineage = lineages->of(animal);
    const std::vector<Said> all = said_of(animal, lineage, out);
    if (lineage == nullptr) {
      for (const Said& said : all) take_as_said(said, entries, out);
    } else {
      const Inference& inference = odds_of(*lineage);
      const AnimalIndex index = *lineage->find(animal);
      Spoken spoken;
      for (const Said& said : all) take_from(*lineage, inference, index, said, spoken, entries, out);
      add_inherited(*lineage, inference, index, spoken, entries);
      out.newest = std::max(out.newest, newest_in_family(*lineage, index));
    }
    put_on(entries, out);
    return out;
  }

 private:
  const Inference& odds_of(const Lineage& lineage) {
    auto& known = inferences[&lineage];
    if (!known) {
      known = std::make_unique<Inference>(lineage.species);
      known->load(lineage.collection);
    }
    return *known;
  }

  /// Live ones in the order of time; what `not` answers is left out: claims of copies, under any name of the gene. A
  /// look that was seen it cannot answer, and an eye that could not tell answers nothing.
  std::vector<Said> said_of(Thing animal, const Lineage* lineage, CardGenes& out) {
    std::vector<Said> all;
    std::vector<Said> answers;
    auto query = reader.book().database().prepare(
        "SELECT event, at FROM account WHERE subject = ? AND kind = ? ORDER BY at, event");
    query.bind(animal, static_cast<int>(Kind::says));
    while (query.step()) {
      const auto event = reader.book().log().event_of(query.integer(0));
      Said said{query.integer(0), query.integer(1), event->own, std::string(event->own.text("state")),
                std::string(event->own.text("gene"))};
      if (!said.own.text("parent").empty() || paper_repeats(said.state)) out.newest = std::max(out.newest, said.at);
      if (said.state == "not" && said.own.text("certainty") != "cannot-tell")
        answers.push_back(std::move(said));
      else if (paper_repeats(said.state) && !said.gene.empty())
        all.push_back(std::move(said));
    }
    std::erase_if(all, [&](const Said& said) {
      if (said.state == "visual" && !is_unsure(said)) return false;
      return std::any_of(answers.begin(), answers.end(),
                         [&](const Said& answer) { return is_one_gene(lineage, said, answer); });
    });
    return all;
  }

  static bool is_one_gene(const Lineage* lineage, const Said& said, const Said& answer) {
    if (plain_name(said.gene) == plain_name(answer.gene)) return true;
    if (lineage == nullptr) return false;
    const auto own = alleles_named(*lineage->species, said.gene);
    const auto other = alleles_named(*lineage->species, answer.gene);
    return own.size() == 1 && other.size() == 1 && own.front().locus == other.front().locus &&
           own.front().allele == other.front().allele;
  }

  void take_from(const Lineage& lineage, const Inference& inference, AnimalIndex index, const Said& said,
                 Spoken& spoken, std::vector<Entry>& entries, CardGenes& out) {
    const Understood understood = understand(*lineage.species, words_of_statement(said.own));
    // A gene that the catalogue does not have: nothing is reckoned, and it stays as it was said.
    if (!understood.problem.empty()) return take_as_said(said, entries, out);
    // By locus: what is said of one holds as far as the weakest of its statements does.
    std::map<std::uint16_t, double> supports;
    const genetics::Statement* main = nullptr;
    bool answered = true;
    for (genetics::Statement one : understood.statements) {
      one.animal = index;
      spoken.note(one);
      if (one.says == Says::unseen) continue;
      const auto each = surely_supported(inference, one);
      answered &= each.has_value();
      double& here = supports.try_emplace(one.options.front().locus, 1).first->second;
      here = std::min(here, each.value_or(0));
    }
    for (const genetics::Statement& one : understood.statements) {
      if (one.says == Says::possible) main = &one;
    }
    // A name for several looks is so where all of them are, each doubted by itself.
    double support = 1;
    for (const auto& [locus, chance] : supports) support *= chance;
    const std::size_t before = entries.size();
    take(lineage.species.get(), said, main, answered ? std::optional(support) : std::nullopt, entries, out);
    if (entries.size() == before) return;
    entries.back().of = matters_of(understood);
    // Several looks, or the look and the alleles of a compound.
    entries.back().together = std::count_if(understood.statements.begin(), understood.statements.end(),
                                            [](const auto& one) { return one.says != Says::unseen; }) > 1;
  }

  /// Of what is not reckoned there is no figure but the one that was said.
  static void take_as_said(const Said& said, std::vector<Entry>& entries, CardGenes& out) {
    if (!is_unsure(said)) return take(nullptr, said, nullptr, promised_by(said, nullptr), entries, out);
    entries.push_back({{"perhaps " + thing_said(nullptr, said), basis_on_paper(said.own.text("basis"))}});
  }

  static void take(const Species* species, const Said& said, const genetics::Statement* main,
                   std::optional<double> support, std::vector<Entry>& entries, CardGenes& out) {
    const double promised = promised_by(said, main);
    const std::string thing = thing_said(species, said);
    Entry entry{{thing, basis_on_paper(said.own.text("basis")), said.state == "visual" && !is_unsure(said)}};
    const auto possible = [&](double chance) {
      entry.chance = chance;
      entry.claim.text = with_chance(chance, thing);
      entries.push_back(std::move(entry));
    };
    switch (standing_of(promised, support)) {
      case PaperStanding::stands:
        entry.certain = promised >= 1 || (*support >= kAll && !is_unsure(said));
        // An eye that was not sure promised nothing: the figure is what is reckoned.
        if (!entry.certain) return possible(is_unsure(said) ? std::min(*support, kMostDrawn) : promised);
        if (promised < 1) entry.claim.basis = "by all that is recorded";
        return entries.push_back(std::move(entry));
      case PaperStanding::weaker:
        // The figure is no longer the one that was said or promised; an eye's doubt gave none.
        if (!is_unsure(said)) entry.claim.basis = "by all that is recorded";
        return possible(*support);
      case PaperStanding::contradicted:
        // Who could not tell claimed nothing.
        if (said.own.text("certainty") == "cannot-tell") return;
        out.broken.push_back({said.event,
                              is_unsure(said) ? "perhaps " + thing
                              : promised < 1  ? with_chance(promised, thing)
                                              : thing,
                              support ? "by everything recorded its chance is " + percent(*support)
                                      : "what was recorded of it and its relatives cannot all be true"});
    }
  }

  void add_inherited(const Lineage& lineage, const Inference& inference, AnimalIndex index, const Spoken& spoken,
                     std::vector<Entry>& entries) {
    const Animal& animal = lineage.collection.animals[index];
    if (animal.dam == kNobody && animal.siring == kNoSiring) return;
    const std::string basis = has_young(lineage.collection, index) ? "by parents and young" : "by parents";
    for (const Inherited& one : inherited(inference, index)) {
      if (spoken.covers(*lineage.species, one)) continue;
      const bool certain = one.chance >= kAll;
      entries.push_back({{certain ? one.phrase : with_chance(one.chance, one.phrase), basis, one.allele == 0},
                         certain,
                         one.chance,
                         {}});
    }
  }

  static bool has_young(const Collection& collection, AnimalIndex parent) {
    return std::any_of(collection.animals.begin(), collection.animals.end(), [&](const Animal& one) {
      if (one.dam == parent) return true;
      if (one.siring == kNoSiring) return false;
      const auto& possible = collection.sirings[one.siring].possible;
      return std::any_of(possible.begin(), possible.end(),
                         [&](const PossibleSire& sire) { return sire.sire == parent; });
    });
  }

  /// A chance moves with what is said of relatives; further ones move it little, and every card would be of today.
  Instant newest_in_family(const Lineage& lineage, AnimalIndex animal) {
    constexpr unsigned kSteps = 3;
    constexpr std::size_t kMost = 500;
    if (newest.empty()) {
      auto query =
          reader.book().database().prepare("SELECT subject, MAX(at) FROM account WHERE kind = ? GROUP BY subject");
      query.bind(static_cast<int>(Kind::says));
      while (query.step()) newest[query.integer(0)] = query.integer(1);
    }
    auto& known = ties[&lineage];
    if (known.empty()) known = ties_of(lineage.collection);
    Instant out = 0;
    for (const AnimalIndex one : near_ones(known, animal, kSteps, kMost)) {
      const auto found = newest.find(lineage.things[one]);
      if (found != newest.end()) out = std::max(out, found->second);
    }
    return out;
  }

  Reader& reader;
  std::unordered_map<Thing, Instant> newest;  ///< statement of each animal
  std::map<const Lineage*, Ties> ties;
  std::optional<Lineages> lineages;
  std::map<const Lineage*, std::unique_ptr<Inference>> inferences;
};

CardGeneSource::CardGeneSource(Reader& reader) : work_(std::make_unique<Work>(reader)) {}
CardGeneSource::~CardGeneSource() = default;

CardGenes CardGeneSource::of(Thing animal) {
  return work_->of(animal);
}

}  // namespace rackside::core
