#include "core/genetics/reasons.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "core/genetics/inference.h"

namespace rackside::core::genetics {
namespace {

constexpr unsigned kReach = 3;

/// Records that can be left out: statements and parents of the family's members.
std::map<RecordId, Reason> records_in(const Collection& collection) {
  std::map<RecordId, Reason> out;
  const auto add = [&](RecordId record, AnimalIndex about, bool parentage) {
    if (record != 0) out.try_emplace(record, Reason{.record = record, .about = about, .parentage = parentage});
  };
  for (const Statement& one : collection.statements) add(one.record, one.animal, false);
  for (AnimalIndex i = 0; i < collection.animals.size(); ++i) {
    const Animal& animal = collection.animals[i];
    add(animal.dam_record, i, true);
    if (animal.siring < collection.sirings.size()) add(collection.sirings[animal.siring].record, i, true);
  }
  return out;
}

Collection without(const Collection& collection, RecordId record) {
  Collection out = collection;
  std::erase_if(out.statements, [&](const Statement& one) { return one.record == record; });
  for (Animal& animal : out.animals) {
    if (animal.dam_record == record) animal.dam = kNobody;
  }
  for (Siring& siring : out.sirings) {
    if (siring.record == record) siring.possible = {{kNobody, 1}};
  }
  return out;
}

double distance(const std::vector<double>& a, const std::vector<double>& b) {
  if (a.size() != b.size()) return 1;  // one of them has no answer
  double out = 0;
  for (std::size_t i = 0; i < a.size(); ++i) out += std::abs(a[i] - b[i]);
  return out / 2;
}

}  // namespace

Ties ties_of(const Collection& collection) {
  Ties out(collection.animals.size());
  const auto tie = [&](AnimalIndex child, AnimalIndex parent) {
    if (parent >= out.size()) return;
    out[child].push_back(parent);
    out[parent].push_back(child);
  };
  for (AnimalIndex i = 0; i < out.size(); ++i) {
    const Animal& animal = collection.animals[i];
    tie(i, animal.dam);
    if (animal.siring >= collection.sirings.size()) continue;
    for (const PossibleSire& one : collection.sirings[animal.siring].possible) tie(i, one.sire);
  }
  return out;
}

std::vector<AnimalIndex> near_ones(const Collection& collection, AnimalIndex centre, unsigned steps, std::size_t most) {
  return near_ones(ties_of(collection), centre, steps, most);
}

std::vector<AnimalIndex> near_ones(const Ties& ties, AnimalIndex centre, unsigned steps, std::size_t most) {
  std::vector<bool> seen(ties.size());
  std::vector<AnimalIndex> out{centre};
  seen[centre] = true;
  std::size_t from = 0;
  for (unsigned step = 0; step < steps; ++step) {
    const std::size_t until = out.size();
    for (; from < until; ++from) {
      for (AnimalIndex next : ties[out[from]]) {
        if (seen[next] || out.size() >= most) continue;
        seen[next] = true;
        out.push_back(next);
      }
    }
  }
  return out;
}

Family family_of(const Collection& collection, AnimalIndex centre, unsigned steps, std::size_t most) {
  return part_of(collection, near_ones(collection, centre, steps, most), centre);
}

Family part_of(const Collection& collection, std::vector<AnimalIndex> members, AnimalIndex centre) {
  Family out;
  std::sort(members.begin(), members.end());
  members.erase(std::unique(members.begin(), members.end()), members.end());
  out.original = std::move(members);
  std::vector<AnimalIndex> place(collection.animals.size(), kNobody);
  for (AnimalIndex i = 0; i < out.original.size(); ++i) place[out.original[i]] = i;
  out.centre = place[centre];
  const auto placed = [&](AnimalIndex one) { return one < place.size() ? place[one] : kNobody; };
  std::map<SiringIndex, SiringIndex> sirings;
  for (AnimalIndex old : out.original) {
    Animal animal = collection.animals[old];
    animal.dam = placed(animal.dam);
    if (animal.siring < collection.sirings.size()) {
      const auto [at, fresh] = sirings.emplace(animal.siring, static_cast<SiringIndex>(out.collection.sirings.size()));
      if (fresh) {
        Siring siring = collection.sirings[animal.siring];
        for (PossibleSire& one : siring.possible) one.sire = placed(one.sire);
        out.collection.sirings.push_back(std::move(siring));
      }
      animal.siring = at->second;
    }
    out.collection.animals.push_back(animal);
  }
  for (const Statement& one : collection.statements) {
    if (placed(one.animal) == kNobody) continue;
    out.collection.statements.push_back(one);
    out.collection.statements.back().animal = placed(one.animal);
  }
  return out;
}

std::vector<Reason> reasons_for(const std::shared_ptr<const Species>& species, const Collection& collection,
                                AnimalIndex animal, std::uint16_t locus, const Settings& settings, double least) {
  const Family family = family_of(collection, animal, kReach);
  const auto odds_in = [&](const Collection& some) {
    Inference inference(species, settings);
    inference.load(some);
    return inference.odds(family.centre, locus);
  };
  const std::vector<double> with = odds_in(family.collection);
  std::vector<Reason> out;
  for (auto& [record, reason] : records_in(family.collection)) {
    reason.without = odds_in(without(family.collection, record));
    reason.weight = distance(with, reason.without);
    reason.about = family.original[reason.about];
    if (reason.weight >= least) out.push_back(std::move(reason));
  }
  std::stable_sort(out.begin(), out.end(), [](const Reason& a, const Reason& b) { return a.weight > b.weight; });
  return out;
}

}  // namespace rackside::core::genetics
