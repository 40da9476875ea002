#include "core/read/gene_odds.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "core/genetics/inference.h"
#include "core/genetics/kinship.h"
#include "core/genetics/pairing.h"
#include "core/genetics/phrases.h"

namespace rackside::core {

using namespace genetics;

namespace {

constexpr double kCertain = 1e-12;                            ///< sums of many products miss 0 and 1 by rounding
constexpr double kWorthSaying = 0.005;                        ///< our choice, no source
constexpr std::uint64_t kFnvBasis = 14695981039346656037ULL;  ///< FNV-1a, draft-eastlake-fnv, section 5
constexpr std::uint64_t kFnvPrime = 1099511628211ULL;

class Mixer {
 public:
  void add(std::string_view text) {
    for (const char c : text) mix(static_cast<unsigned char>(c));
    mix(0);
  }
  void add(std::int64_t number) {
    for (int i = 0; i < 8; ++i) mix(static_cast<unsigned char>(number >> (8 * i)));
  }
  std::uint64_t value() const { return value_; }

 private:
  void mix(unsigned char byte) {
    value_ ^= byte;
    value_ *= kFnvPrime;
  }
  std::uint64_t value_ = kFnvBasis;
};

}  // namespace

Millionths in_millionths(double chance) {
  constexpr Millionths kAll = 1'000'000;
  if (chance <= kCertain) return 0;
  if (chance >= 1 - kCertain) return kAll;
  return std::clamp<Millionths>(std::llround(chance * kAll), 1, kAll - 1);
}

struct GeneOdds::Work {
  /// One species: what was read and what follows from it.
  struct One {
    const Lineage* lineage;
    Inference inference;
    std::unique_ptr<Kinship> kinship;  ///< none where an animal is its own ancestor
  };
  Lineages lineages;
  std::vector<One> species;
  std::map<Thing, std::string> sexes;

  explicit Work(Reader& reader) : lineages(load_lineages(reader)) {
    for (const auto& [thing, sex] : reader.field_of_all("sex")) sexes[thing] = sex;
    for (const Lineage& lineage : lineages.all) {
      One one{&lineage, Inference(lineage.species), nullptr};
      one.inference.load(lineage.collection);
      try {
        one.kinship = std::make_unique<Kinship>(parents_of(lineage.collection));
      } catch (const Error&) {
        // An animal that is its own ancestor: the inference names it among its problems.
      }
      species.push_back(std::move(one));
    }
  }

  const One* of(Thing animal) const {
    for (const One& one : species) {
      if (one.lineage->index.contains(animal)) return &one;
    }
    return nullptr;
  }

  std::string sex_of(Thing animal) const {
    const auto found = sexes.find(animal);
    return found == sexes.end() ? std::string() : found->second;
  }

  static std::vector<LocusOdds> loci_of(const One& one, AnimalIndex animal) {
    std::vector<LocusOdds> out;
    const Species& catalogue = one.inference.species();
    for (std::uint16_t locus = 0; locus < catalogue.loci.size(); ++locus) {
      LocusOdds odds{.locus = catalogue.loci[locus].name};
      const Way way = one.inference.way(animal, locus);
      odds.no_answer = way == Way::no_answer;
      odds.sampled = way == Way::sampled;
      if (!odds.no_answer) {
        const auto chances = one.inference.odds(animal, locus);
        for (const Chance& chance : chances_of(catalogue, locus, one.inference.states(locus), chances, kWorthSaying)) {
          if (chance.carries) odds.chances.push_back({in_millionths(chance.chance), chance.phrase});
        }
      }
      if (odds.no_answer || !odds.chances.empty()) out.push_back(std::move(odds));
    }
    return out;
  }
};

GeneOdds::GeneOdds(Reader& reader) : work_(std::make_unique<Work>(reader)) {}
GeneOdds::~GeneOdds() = default;

std::vector<LocusOdds> GeneOdds::of(Thing animal) const {
  const Work::One* one = work_->of(animal);
  return one == nullptr ? std::vector<LocusOdds>{} : Work::loci_of(*one, *one->lineage->find(animal));
}

std::vector<GeneOdds::AnimalOdds> GeneOdds::all() const {
  std::vector<AnimalOdds> out;
  for (const Work::One& one : work_->species) {
    for (AnimalIndex i = 0; i < one.lineage->things.size(); ++i) {
      auto loci = Work::loci_of(one, i);
      if (!loci.empty()) out.push_back({one.lineage->things[i], std::move(loci)});
    }
  }
  return out;
}

namespace {

void add_young(PairOdds& out, const Species& species, const Forecast& forecast) {
  double rest = forecast.rest;
  for (std::size_t i = 0; i < forecast.rows.size(); ++i) {
    const LookRow& row = forecast.rows[i];
    if (i >= kMostYoungShown) {
      rest += row.chance;
      continue;
    }
    PairOdds::Young young{in_millionths(row.chance), name_of(species, row), row.sex, {}};
    for (const Chance& one : carried_unseen(species, forecast, row))
      young.carries.push_back({in_millionths(one.chance), one.phrase});
    out.young.push_back(std::move(young));
  }
  out.rest = rest > 1e-9 ? in_millionths(rest) : 0;
}

bool has_parent(const Collection& collection, AnimalIndex animal) {
  const Animal& one = collection.animals[animal];
  return one.dam != kNobody || one.siring != kNoSiring;
}

}  // namespace

PairOdds GeneOdds::pair(Thing first, Thing second) const {
  if (first == second) throw Error(Fault::bad_input, "That is one animal twice: name a male and a female.");
  if (work_->sex_of(first) == "female" || work_->sex_of(second) == "male") std::swap(first, second);
  const std::string sex = work_->sex_of(first);
  if (sex == work_->sex_of(second) && (sex == "male" || sex == "female"))
    throw Error(Fault::bad_input, "Both are recorded as " + sex + ", so there is no forecast. Is a record wrong?");
  const Work::One* one = work_->of(first);
  const Work::One* other = work_->of(second);
  if (one == nullptr || other == nullptr)
    throw Error(Fault::bad_input, "The species of one of them is not in the book, or has no catalogue of genes.");
  if (one != other) throw Error(Fault::bad_input, "They are of two species, so there is no forecast.");
  if (!one->kinship) throw Error(Fault::bad_input, "By the book an animal is its own ancestor: mend that first.");
  const AnimalIndex sire = *one->lineage->find(first);
  const AnimalIndex dam = *one->lineage->find(second);
  const Species& species = one->inference.species();
  const Forecast made = forecast(one->inference, sire, dam);
  PairOdds out{.sire = first,
               .dam = second,
               .species = species.name,
               .lost = in_millionths(made.lost),
               .error = in_millionths(made.error)};
  add_young(out, species, made);
  for (const Harm& harm : made.harms)
    out.harms.push_back({harm.pair, harm.what, harm.source, in_millionths(harm.chance), harm.lethal, harm.established});
  out.inbreeding = in_millionths(one->kinship->kinship(sire, dam));
  const Collection& collection = one->lineage->collection;
  out.at_least = rests_on_possible_sires(collection, sire, dam);
  out.parents_known = has_parent(collection, sire) && has_parent(collection, dam);
  for (const std::uint16_t locus : made.unanswered) out.unanswered.push_back(species.loci[locus].name);
  out.problems = one->inference.problems().size();
  return out;
}

std::uint64_t gene_fingerprint(Book& book) {
  Mixer mixer;
  auto fields = book.database().prepare(
      "SELECT subject, name, value FROM field WHERE name IN ('species', 'sex', 'hatched', 'registered') "
      "ORDER BY subject, name");
  while (fields.step()) {
    mixer.add(fields.integer(0));
    mixer.add(fields.text(1));
    mixer.add(fields.text(2));
  }
  auto said = book.database().prepare(
      "SELECT subject, event FROM account INDEXED BY account_says WHERE kind = 16 ORDER BY subject, at, event");
  while (said.step()) {
    mixer.add(said.integer(0));
    mixer.add(said.integer(1));
  }
  auto settings = book.database().prepare("SELECT key, value FROM setting WHERE key LIKE 'catalogue/%' ORDER BY key");
  while (settings.step()) {
    mixer.add(settings.text(0));
    mixer.add(settings.text(1));
  }
  return mixer.value();
}

}  // namespace rackside::core
