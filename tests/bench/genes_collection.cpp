#include "tests/bench/genes_collection.h"

#include <algorithm>
#include <array>
#include <random>
#include <string>

#include "core/genetics/catalogue_text.h"

namespace rackside::bench {
namespace {

using namespace core::genetics;

std::shared_ptr<Species> invented_species(unsigned loci) {
  std::string text = "rackside genes 1\nspecies invented snake, Serpens ficta\nsexes ZW\npractice invented\n";
  for (unsigned i = 0; i < loci; ++i) {
    const std::string n = std::to_string(i);
    text += "locus l" + n + "\nmemory invented\nallele a" + n +
            (i % 10 == 8 ? ", incomplete, super a" + n : ", recessive") + "\n";
    if (i % 10 == 9) text += "allele b" + n + ", recessive\npair a" + n + ", b" + n + ", a" + n + "\n";
  }
  return std::make_shared<Species>(read_catalogue(text).species);
}

class Maker {
 public:
  explicit Maker(const GenesPlan& plan) : plan_(plan) { out_.species = invented_species(plan.loci); }

  GenesCollection make() {
    const unsigned founders = plan_.animals / 100;
    for (unsigned i = 0; i < founders; ++i) add_founder(i % 3 == 0 ? Sex::male : Sex::female);
    std::vector<AnimalIndex> before(out_.collection.animals.size());
    for (AnimalIndex i = 0; i < before.size(); ++i) before[i] = i;
    for (unsigned g = 1; g < plan_.generations; ++g) {
      const std::size_t until = founders + (plan_.animals - founders) * g / (plan_.generations - 1);
      const auto breeders = chosen(before);
      before.clear();
      while (out_.collection.animals.size() < until) add_clutch(breeders, before);
    }
    return std::move(out_);
  }

 private:
  using Pairing = std::array<std::uint8_t, 2>;

  unsigned below(unsigned limit) { return static_cast<unsigned>(random_() % limit); }

  void look(AnimalIndex animal) {
    auto& statements = out_.collection.statements;
    statements.push_back({.animal = animal, .says = Says::nothing_else, .author = 1});
    for (std::uint16_t l = 0; l < plan_.loci; ++l) {
      const auto look = out_.species->loci[l].pair(truth_[animal][l][0], truth_[animal][l][1]).look;
      if (look != 0) statements.push_back({.animal = animal, .options = {{l, look, 0, 0}}, .author = 1});
    }
  }

  void buy(AnimalIndex animal, std::uint16_t locus) {
    const std::uint8_t allele =
        static_cast<std::uint8_t>(1 + below(static_cast<unsigned>(out_.species->loci[locus].alleles.size() - 1)));
    Statement said{.animal = animal, .basis = Basis::bought, .says = Says::het, .options = {{locus, 0, allele, 0}}};
    switch (below(3)) {
      case 0:
        truth_[animal][locus] = {allele, allele};
        return;  // what is seen is said by look()
      case 1:
        truth_[animal][locus] = {0, allele};
        break;
      default:
        said.says = Says::possible;
        said.chance = 2 / 3.0;
        if (below(3) < 2) truth_[animal][locus] = {0, allele};
    }
    out_.collection.statements.push_back(said);
  }

  void add_founder(Sex sex) {
    const auto animal = static_cast<AnimalIndex>(out_.collection.animals.size());
    out_.collection.animals.push_back({.sex = sex});
    truth_.emplace_back(plan_.loci);
    const unsigned first = below(plan_.loci);
    for (unsigned i = below(4); i > 0; --i) buy(animal, static_cast<std::uint16_t>((first + i * 7) % plan_.loci));
    look(animal);
  }

  std::vector<AnimalIndex> chosen(const std::vector<AnimalIndex>& from) {
    std::vector<std::pair<double, AnimalIndex>> drawn;
    for (AnimalIndex animal : from) {
      bool visual = false;
      for (const Pairing& pair : truth_[animal]) visual |= pair[0] != 0 && pair[1] != 0;
      drawn.emplace_back((below(1'000'000) + 1) * (visual ? 3.0 : 1.0), animal);
    }
    std::sort(drawn.rbegin(), drawn.rend());
    std::vector<AnimalIndex> out;
    for (std::size_t i = 0; i < std::min<std::size_t>(drawn.size(), plan_.animals / 100); ++i)
      out.push_back(drawn[i].second);
    return out;
  }

  AnimalIndex one_of(const std::vector<AnimalIndex>& breeders, Sex sex) {
    for (;;) {
      const AnimalIndex one = breeders[below(static_cast<unsigned>(breeders.size()))];
      if (out_.collection.animals[one].sex == sex) return one;
    }
  }

  void add_clutch(const std::vector<AnimalIndex>& breeders, std::vector<AnimalIndex>& young) {
    auto& all = out_.collection;
    out_.before_last_clutch = all.animals.size();
    out_.sirings_before = all.sirings.size();
    out_.statements_before = all.statements.size();
    const AnimalIndex sire = one_of(breeders, Sex::male);
    const AnimalIndex dam = one_of(breeders, Sex::female);
    Siring siring{{{sire, 1}}, 0};
    if (plan_.clutches_of_two_sires && below(plan_.clutches_of_two_sires) == 0) {
      const AnimalIndex other = one_of(breeders, Sex::male);
      if (other != sire) siring.possible.push_back({other, 1});
    }
    all.sirings.push_back(siring);
    for (unsigned i = 6 + below(11); i > 0; --i) {
      const auto animal = static_cast<AnimalIndex>(all.animals.size());
      all.animals.push_back({.sex = below(2) ? Sex::male : Sex::female,
                             .dam = dam,
                             .siring = static_cast<SiringIndex>(all.sirings.size() - 1)});
      truth_.emplace_back(plan_.loci);
      for (unsigned l = 0; l < plan_.loci; ++l)
        truth_[animal][l] = {truth_[sire][l][below(2)], truth_[dam][l][below(2)]};
      look(animal);
      young.push_back(animal);
    }
  }

  GenesPlan plan_;
  GenesCollection out_;
  std::vector<std::vector<Pairing>> truth_;
  std::mt19937_64 random_{20260501};
};

}  // namespace

GenesCollection make_genes(const GenesPlan& plan) {
  return Maker(plan).make();
}

std::vector<core::genetics::Parents> make_pedigree(unsigned animals) {
  std::mt19937_64 random(20260502);
  constexpr unsigned kGenerations = 20;
  const unsigned each = animals / kGenerations;
  std::vector<Parents> out(animals);
  for (unsigned i = each; i < animals;) {
    const unsigned first = (i / each - 1) * each;
    // One in ten is bred from, by twos; even ones are males.
    const auto sire = static_cast<AnimalIndex>(first + random() % (each / 20) * 20);
    const auto dam = static_cast<AnimalIndex>(first + random() % (each / 10) * 10 + 1);
    for (unsigned end = std::min(animals, i + 6 + static_cast<unsigned>(random() % 11)); i < end; ++i)
      out[i] = {sire, dam};
  }
  return out;
}

}  // namespace rackside::bench
